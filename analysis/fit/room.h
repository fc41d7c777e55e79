/* One block of memory handed in, given out piece by piece: what the analysis of a recording works in. */
#ifndef UPSTOP_ANALYSIS_FIT_ROOM_H
#define UPSTOP_ANALYSIS_FIT_ROOM_H

#include <stddef.h>
#include <stdint.h>

typedef struct up_room {
    unsigned char *next; /* NULL: only counts, to find out how much it takes */
    size_t left, taken;  /* bytes */
    int short_of;        /* 1 when a piece could not be given */
} up_room;

enum { UP_ROOM_ALIGNED = 64 };

/* Bytes that a piece of `count` items of `size` bytes takes. */
static inline size_t up_room_piece(size_t count, size_t size) {
    return (count * size + UP_ROOM_ALIGNED - 1) / UP_ROOM_ALIGNED * UP_ROOM_ALIGNED;
}

/* memory: size bytes of any alignment, the caller's, used until the caller stops using what was given out. */
static inline up_room up_room_of(void *memory, size_t size) {
    up_room room = {(unsigned char *)memory, size, 0, 0};
    const size_t off = memory ? (size_t)((uintptr_t)memory % UP_ROOM_ALIGNED) : 0;
    const size_t lost = off ? UP_ROOM_ALIGNED - off : 0;
    if (memory && lost <= size) {
        room.next += lost;
        room.left -= lost;
    } else if (memory) {
        room.left = 0;
    }
    return room;
}

/* NULL when nothing is left or when it only counts. */
static inline void *up_room_take(up_room *room, size_t count, size_t size) {
    const size_t piece = up_room_piece(count, size);
    room->taken += piece;
    if (!room->next) {
        return NULL;
    }
    if (piece > room->left) {
        room->short_of = 1;
        return NULL;
    }
    void *given = room->next;
    room->next += piece;
    room->left -= piece;
    return given;
}

#endif
