/* Files of the machine that emulates the chip, by semihosting (Arm, "Semihosting for AArch32 and AArch64", 2.0: operation
 * in r0, place of the arguments in r1, BKPT 0xAB). */
#ifndef UPSTOP_TESTS_DETECTOR_CHIP_HOST_H
#define UPSTOP_TESTS_DETECTOR_CHIP_HOST_H

#include <stdint.h>

enum { HOST_READ = 1, HOST_WRITE = 5 }; /* "rb", "wb" */

/* A handle, or -1. The name is seen from the folder the emulator was started in. */
int host_open(const char *name, uint32_t mode);
/* Bytes not read or not written. */
uint32_t host_read(int file, void *to, uint32_t bytes);
uint32_t host_write(int file, const void *from, uint32_t bytes);
int host_close(int file);
void host_say(const char *text);
void host_say_number(const char *before, uint32_t number, const char *after);
void host_exit(int status) __attribute__((noreturn));

#endif
