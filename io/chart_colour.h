/* Our colour language: a colour means one thing in every picture, in the terminal and on paper.
 *
 * The meanings and how the colours were chosen stand in docs/pictures.md. tests/unit/chart_colour_test.c holds them to
 * a contrast of 3:1 against the paper and keeps them apart for people who do not see red, green or blue. */
#ifndef UPSTOP_IO_CHART_COLOUR_H
#define UPSTOP_IO_CHART_COLOUR_H

/* X(id, red, green, blue, meaning) */
#define UP_COLOUR_LIST(X)                                                     \
    X(GLASS, 0x02, 0x3F, 0xCB, "the glass and its motion")                    \
    X(ELECTRIC, 0xC7, 0x7F, 0x00, "current and voltage")                      \
    X(FRICTION, 0x15, 0xA8, 0x73, "friction, and what it turns into heat")    \
    X(HEADER, 0x73, 0x1C, 0x72, "the header seal and the stops")              \
    X(SQUEEZE, 0xA8, 0x0F, 0x12, "what squeezes: the test rod and its limit") \
    X(DETECTOR, 0x1A, 0x1A, 0x1A, "what the controller reckons and decides")

/* Not carrying a meaning: paper, words, grid. */
#define UP_PAPER_LIST(X)                      \
    X(PAPER, 0xFF, 0xFF, 0xFF, "paper")       \
    X(INK, 0x22, 0x22, 0x22, "words")         \
    X(QUIET, 0x5F, 0x63, 0x68, "small words") \
    X(GRID, 0xDD, 0xDF, 0xE2, "grid")

typedef enum up_colour {
#define UP_COLOUR_ENUM(id, red, green, blue, meaning) UP_COLOUR_##id,
    UP_COLOUR_LIST(UP_COLOUR_ENUM) UP_PAPER_LIST(UP_COLOUR_ENUM)
#undef UP_COLOUR_ENUM
        UP_COLOUR_COUNT
} up_colour;

typedef struct up_rgb {
    unsigned char red, green, blue; /* sRGB, 0..255 */
} up_rgb;

up_rgb up_colour_rgb(up_colour colour);
const char *up_colour_meaning(up_colour colour); /* static storage */

#endif
