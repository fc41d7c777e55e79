/* Reset and vectors of a Cortex-M. There is nothing to copy, the linker script holds us to it. A fault ends the run with a
 * status of its own. */
#include <stdint.h>

#include "tests/detector/chip/host.h"

extern uint32_t stack_top, bss_start[], bss_end[];
int main(void);
void reset(void);
static void fault(void);

static void fault(void) {
    host_exit(97);
}

void reset(void) {
    for (uint32_t *word = bss_start; word < bss_end; word++) {
        *word = 0;
    }
    host_exit(main());
}

typedef union vector {
    void (*run)(void);
    void *place;
} vector;

__attribute__((section(".vectors"), used)) static const vector vectors[16] = {{.place = &stack_top},
                                                                              {reset},
                                                                              {fault},
                                                                              {fault},
                                                                              {fault},
                                                                              {fault},
                                                                              {fault},
                                                                              {fault},
                                                                              {fault},
                                                                              {fault},
                                                                              {fault},
                                                                              {fault},
                                                                              {fault},
                                                                              {fault},
                                                                              {fault},
                                                                              {fault}};
