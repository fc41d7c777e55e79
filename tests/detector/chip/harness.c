/* Makes the calls of the file vectors.bin on the chip, writes what each came to into answers.bin, and says how many
 * instructions each kind of call took at the most.
 *
 * The emulator's clock is made to advance by 1024 ns with every instruction (-icount shift=10), and SysTick runs at 16 MHz
 * of that clock, so 2048 counts of it are 125 instructions. The harness checks that with a stretch of known length. */
#include "tests/detector/calls.h"
#include "tests/detector/chip/host.h"

enum { BLOCK_CALLS = 128, KNOWN = 1000 };

static volatile uint32_t *const systick = (volatile uint32_t *)0xE000E010U; /* control, reload, current */
static const uint32_t systick_top = 0xFFFFFFU;

static uint32_t started, took; /* counts; SysTick counts down */

static void clock_start(void) {
    systick[1] = systick_top;
    systick[2] = 0;
    systick[0] = 5; /* on, no interrupt, the processor's clock */
}

static void before(void) {
    started = systick[2];
}

static void after(void) {
    took = (started - systick[2]) & systick_top;
}

static uint32_t instructions(uint32_t counts) {
    return (counts * 125 + 1024) / 2048;
}

static call block[BLOCK_CALLS];
static answer answers[BLOCK_CALLS];
static detector_rig rig;
static uint32_t most[CALL_KINDS], at[CALL_KINDS], calls[CALL_KINDS], overhead;
static uint64_t all[CALL_KINDS];

static void fail(const char *what) {
    host_say("chip: ");
    host_say(what);
    host_say("\n");
    host_exit(2);
}

/* What a call of nothing costs is not the detector's; a stretch of known length has to be counted right. */
static void set_clock(void) {
    const call nothing = {.kind = CALL_NOTHING};
    clock_start();
    for (int i = 0; i < 3; i++) {
        (void)rig_perform(&rig, &nothing, before, after);
    }
    overhead = instructions(took);
    before();
    uint32_t turns = KNOWN / 4;
    __asm__ volatile("1: nop\n nop\n sub %0, #1\n bne 1b" : "+l"(turns) : : "cc");
    after();
    const uint32_t long_one = instructions(took);
    before();
    after();
    const uint32_t counted = long_one - instructions(took);
    if (counted + 1 < KNOWN || counted > KNOWN + 1) {
        host_say_number("chip: counted ", counted, " instructions of 1000: start the emulator with -icount shift=10\n");
        host_exit(3);
    }
}

static void count(uint32_t number, uint32_t kind) {
    const uint32_t cost = instructions(took);
    const uint32_t own = cost > overhead ? cost - overhead : 0;
    calls[kind]++;
    all[kind] += own;
    if (own > most[kind]) {
        most[kind] = own;
        at[kind] = number;
    }
}

static void read_exactly(int file, void *to, uint32_t bytes) {
    if (host_read(file, to, bytes) != 0) {
        fail("vectors.bin ends early");
    }
}

/* Blocks of calls are read ahead; settings lie between them, so a block may end in the middle of some. */
typedef struct source {
    int file;
    uint32_t have, next; /* in memory, taken */
} source;

static call *take(source *s) {
    if (s->next == s->have) {
        s->have = BLOCK_CALLS - host_read(s->file, block, sizeof block) / sizeof(call);
        s->next = 0;
        if (s->have == 0) {
            fail("vectors.bin ends early");
        }
    }
    return &block[s->next++];
}

static void flush(int file, uint32_t bytes) {
    if (host_write(file, answers, bytes) != 0) {
        fail("answers.bin cannot be written");
    }
}

static void report(void) {
    static const char *const name[CALL_KINDS] = {
#define CALL_NAME(id, name) name,
        CALL_LIST(CALL_NAME)
#undef CALL_NAME
    };
    for (uint32_t kind = CALL_NOTHING; kind < CALL_KINDS; kind++) {
        if (calls[kind] > 0) {
            host_say(name[kind]);
            host_say_number(" ", most[kind], "");
            host_say_number(" ", (uint32_t)(all[kind] / calls[kind]), "");
            host_say_number(" ", calls[kind], "");
            host_say_number(" ", at[kind], "\n");
        }
    }
}

int main(void) {
    call_file_head head;
    source in = {.file = host_open("vectors.bin", HOST_READ)};
    const int out = host_open("answers.bin", HOST_WRITE);
    if (in.file == -1 || out == -1) {
        fail("vectors.bin or answers.bin cannot be opened");
    }
    read_exactly(in.file, &head, sizeof head);
    if (head.magic != CALL_FILE_MAGIC || head.settings_bytes != sizeof(up_detector_settings) ||
        head.memory_bytes != sizeof(up_detector_memory) || head.detector_bytes != sizeof(up_detector)) {
        fail("vectors.bin was made for another layout");
    }
    rig_clear(&rig);
    set_clock();
    uint32_t kept = 0;
    for (uint32_t i = 0; i < head.calls; i++) {
        const call what = *take(&in);
        call *place;
        const uint32_t blocks = rig_blocks(&rig, &what, &place);
        for (uint32_t k = 0; k < blocks; k++) {
            place[k] = *take(&in);
        }
        answers[kept++] = rig_perform(&rig, &what, before, after);
        count(i, what.kind < CALL_KINDS ? what.kind : CALL_NOTHING);
        if (kept == BLOCK_CALLS) {
            flush(out, sizeof answers);
            kept = 0;
        }
    }
    flush(out, kept * (uint32_t)sizeof(answer));
    (void)host_close(out);
    report();
    return 0;
}
