/* Makes the calls of a file of vectors on this machine and writes what each came to.
 *
 * usage: detector_replay VECTORS ANSWERS           all of them
 *        detector_replay VECTORS show NUMBER       one call in words, for a difference that was found
 *
 * Exit status 1: an answer is not the one that was recorded. */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "tests/detector/calls.h"

static const char *const kind_name[CALL_KINDS] = {
#define CALL_NAME(id, name) name,
    CALL_LIST(CALL_NAME)
#undef CALL_NAME
};

static void quiet(void) {
}

static void die(const char *what, const char *name) {
    fprintf(stderr, "detector_replay: %s: %s\n", name, what);
    exit(2);
}

static FILE *open_file(const char *name, const char *mode) {
    FILE *file = fopen(name, mode);
    if (file == NULL) {
        die("cannot be opened", name);
    }
    return file;
}

static void show(uint32_t number, const call *what, const detector_rig *rig, answer got) {
    printf("call %" PRIu32 ": %s", number, kind_name[what->kind < CALL_KINDS ? what->kind : CALL_NOTHING]);
    for (int i = 0; i < CALL_NUMBERS; i++) {
        printf(" %" PRIu32, what->number[i]);
    }
    printf("\nsaid %" PRIu32 ", state %08" PRIx32 ":", got.said, got.state);
    for (uint32_t i = 0; i < RIG_WORDS; i++) {
        printf(" %" PRIx32, rig->word[i]);
    }
    printf("\n");
}

int main(int argc, char **argv) {
    static detector_rig rig;
    const int showing = argc == 4 && strcmp(argv[2], "show") == 0;
    if (argc != 3 && !showing) {
        die("usage: detector_replay VECTORS ANSWERS | VECTORS show NUMBER", "wrong arguments");
    }
    FILE *in = open_file(argv[1], "rb");
    FILE *out = showing ? NULL : open_file(argv[2], "wb");
    const uint32_t wanted = showing ? (uint32_t)strtoul(argv[3], NULL, 10) : UINT32_MAX;
    call_file_head head;
    if (fread(&head, sizeof head, 1, in) != 1 || head.magic != CALL_FILE_MAGIC) {
        die("not a file of vectors", argv[1]);
    }
    if (head.settings_bytes != sizeof(up_detector_settings) || head.memory_bytes != sizeof(up_detector_memory) ||
        head.detector_bytes != sizeof(up_detector)) {
        die("made for another layout", argv[1]);
    }
    rig_clear(&rig);
    uint32_t other = 0;
    for (uint32_t i = 0; i < head.calls; i++) {
        call what, *place;
        if (fread(&what, sizeof what, 1, in) != 1) {
            die("ends early", argv[1]);
        }
        const uint32_t blocks = rig_blocks(&rig, &what, &place);
        if (blocks > 0 && fread(place, sizeof *place, blocks, in) != blocks) {
            die("ends early", argv[1]);
        }
        const answer got = rig_perform(&rig, &what, quiet, quiet);
        other += what.said != ANY_ANSWER && what.said != got.said;
        if (out != NULL && fwrite(&got, sizeof got, 1, out) != 1) {
            die("cannot be written", argv[2]);
        }
        if (i == wanted) {
            show(i, &what, &rig, got);
        }
    }
    if (out != NULL && fclose(out) != 0) {
        die("cannot be written", argv[2]);
    }
    (void)fclose(in);
    fprintf(stderr, "detector_replay: %" PRIu32 " calls, %" PRIu32 " answers other than recorded\n", head.calls, other);
    return other > 0;
}
