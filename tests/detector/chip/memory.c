/* What a compiler may call for structs although nobody wrote it. Counted with the detector if it is linked in. */
#include <stddef.h>

void *memset(void *to, int value, size_t bytes);
void *memcpy(void *restrict to, const void *restrict from, size_t bytes);
void *memmove(void *to, const void *from, size_t bytes);

void *memset(void *to, int value, size_t bytes) {
    unsigned char *out = to;
    for (size_t i = 0; i < bytes; i++) {
        out[i] = (unsigned char)value;
        __asm__ volatile("" ::: "memory"); /* or the compiler makes a call of memset of it */
    }
    return to;
}

void *memcpy(void *restrict to, const void *restrict from, size_t bytes) {
    unsigned char *out = to;
    const unsigned char *in = from;
    for (size_t i = 0; i < bytes; i++) {
        out[i] = in[i];
        __asm__ volatile("" ::: "memory");
    }
    return to;
}

void *memmove(void *to, const void *from, size_t bytes) {
    unsigned char *out = to;
    const unsigned char *in = from;
    for (size_t i = 0; i < bytes; i++) {
        const size_t at = out < in ? i : bytes - 1 - i;
        out[at] = in[at];
        __asm__ volatile("" ::: "memory");
    }
    return to;
}
