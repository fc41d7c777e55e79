#include "tests/detector/chip/host.h"

enum {
    SYS_OPEN = 0x01,
    SYS_CLOSE = 0x02,
    SYS_WRITE0 = 0x04,
    SYS_WRITE = 0x05,
    SYS_READ = 0x06,
    SYS_EXIT_EXTENDED = 0x20
};
enum { STOPPED_BY_PROGRAM = 0x20026 };

static uintptr_t host(uintptr_t operation, const void *arguments) {
    register uintptr_t r0 __asm__("r0") = operation;
    register const void *r1 __asm__("r1") = arguments;
    __asm__ volatile("bkpt 0xab" : "+r"(r0) : "r"(r1) : "memory");
    return r0;
}

static uint32_t length(const char *text) {
    uint32_t n = 0;
    while (text[n] != '\0') {
        n++;
    }
    return n;
}

int host_open(const char *name, uint32_t mode) {
    const uintptr_t arguments[3] = {(uintptr_t)name, mode, length(name)};
    return (int)host(SYS_OPEN, arguments);
}

uint32_t host_read(int file, void *to, uint32_t bytes) {
    const uintptr_t arguments[3] = {(uintptr_t)file, (uintptr_t)to, bytes};
    return host(SYS_READ, arguments);
}

uint32_t host_write(int file, const void *from, uint32_t bytes) {
    const uintptr_t arguments[3] = {(uintptr_t)file, (uintptr_t)from, bytes};
    return host(SYS_WRITE, arguments);
}

int host_close(int file) {
    const uintptr_t arguments[1] = {(uintptr_t)file};
    return (int)host(SYS_CLOSE, arguments);
}

void host_say(const char *text) {
    (void)host(SYS_WRITE0, text);
}

void host_say_number(const char *before, uint32_t number, const char *after) {
    char digits[11];
    uint32_t at = sizeof digits - 1;
    digits[at] = '\0';
    do {
        digits[--at] = (char)('0' + number % 10);
        number /= 10;
    } while (number > 0);
    host_say(before);
    host_say(digits + at);
    host_say(after);
}

void host_exit(int status) {
    const uintptr_t arguments[2] = {STOPPED_BY_PROGRAM, (uintptr_t)status};
    for (;;) {
        (void)host(SYS_EXIT_EXTENDED, arguments);
    }
}
