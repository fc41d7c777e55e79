#include "io/paper_page.h"

#include <cairo-pdf.h>
#include <cairo-svg.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "io/chart_colour.h"
#include "io/chart_panel.h"

/* A4 in points, and where things stand on it. */
static const double page_width = 595.28;
static const double page_height = 841.89;
static const double margin = 40;
static const double foot_room = 22;
static const double letter_most = 9.5;
static const double letter_least = 7.0;
static const double letter_step = 0.25;

enum { PIECE_MAX = 512 };

/* A page under way. measuring: 1 nothing is drawn, only the places move on. */
typedef struct pen {
    cairo_t *cairo;
    double letter; /* points */
    double y;      /* of the line's top on this page */
    int page;      /* from 0 */
    int measuring;
    int whole; /* 1: a section that does not fit on the rest of a page begins the next one */
    up_page_format format;
    const char *foot;
} pen;

static double leading(const pen *p) {
    return 1.28 * p->letter;
}

static double page_top(const pen *p) {
    return p->format == UP_PAGE_SVG && !p->measuring ? p->page * page_height : 0;
}

static double width_of(void *context, const char *text, size_t bytes) {
    char piece[PIECE_MAX];
    const size_t length = bytes < sizeof piece - 1 ? bytes : sizeof piece - 1;
    memcpy(piece, text, length);
    piece[length] = '\0';
    return up_chart_text_width(context, piece);
}

static void say(const pen *p, double x, double share, const char *text, size_t bytes) {
    char piece[PIECE_MAX];
    const size_t length = bytes < sizeof piece - 1 ? bytes : sizeof piece - 1;
    if (p->measuring) {
        return;
    }
    memcpy(piece, text, length);
    piece[length] = '\0';
    up_chart_say(p->cairo, x, page_top(p) + p->y + p->letter, share, piece);
}

static void stroke_line(const pen *p, double x, double y, double width, up_colour colour, double thick) {
    if (p->measuring) {
        return;
    }
    up_chart_ink(p->cairo, colour, 1);
    cairo_set_line_width(p->cairo, thick);
    cairo_move_to(p->cairo, x, page_top(p) + y);
    cairo_rel_line_to(p->cairo, width, 0);
    cairo_stroke(p->cairo);
}

static void box(const pen *p, double x) {
    if (p->measuring) {
        return;
    }
    const double side = 0.85 * p->letter;
    up_chart_ink(p->cairo, UP_COLOUR_INK, 1);
    cairo_set_line_width(p->cairo, 0.8);
    cairo_rectangle(p->cairo, x, page_top(p) + p->y + 0.22 * p->letter, side, side);
    cairo_stroke(p->cairo);
}

/* ---- pages ---- */

static void draw_foot(pen *p) {
    char number[32];
    if (p->measuring) {
        return;
    }
    const double y = p->y;
    p->y = page_height - margin - 0.2 * p->letter;
    stroke_line(p, margin, p->y - 3, page_width - 2 * margin, UP_COLOUR_GRID, 0.8);
    up_chart_letters(p->cairo, 7, 0);
    up_chart_ink(p->cairo, UP_COLOUR_QUIET, 1);
    say(p, margin, 0, p->foot, strlen(p->foot));
    snprintf(number, sizeof number, "%d", p->page + 1);
    say(p, page_width - margin, 1, number, strlen(number));
    p->y = y;
}

static void white_page(const pen *p) {
    if (p->measuring) {
        return;
    }
    up_chart_ink(p->cairo, UP_COLOUR_PAPER, 1);
    cairo_rectangle(p->cairo, 0, page_top(p), page_width, page_height);
    cairo_fill(p->cairo);
}

static void turn_page(pen *p) {
    draw_foot(p);
    if (!p->measuring && p->format == UP_PAGE_PDF) {
        cairo_show_page(p->cairo);
    }
    p->page++;
    p->y = margin;
    white_page(p);
}

static void make_room(pen *p, double height) {
    if (p->y + height > page_height - margin - foot_room && p->y > margin) {
        turn_page(p);
    }
}

/* ---- lines ---- */

static int lines_of(const pen *p, const char *text, double width) {
    int lines = 0;
    do {
        up_paper_break(text, width, width_of, p->cairo, &text);
        lines++;
    } while (*text);
    return lines;
}

/* Words from x on, broken at the right margin. */
static void flow(pen *p, double x, const char *text) {
    const double width = page_width - margin - x;
    do {
        const char *next = text;
        const size_t bytes = up_paper_break(text, width, width_of, p->cairo, &next);
        say(p, x, 0, text, bytes);
        p->y += leading(p);
        text = next;
    } while (*text);
}

static void set_letters(const pen *p, double share, int bold, up_colour colour) {
    up_chart_letters(p->cairo, share * p->letter, bold);
    up_chart_ink(p->cairo, colour, 1);
}

static void title(pen *p, const char *text) {
    set_letters(p, 1.7, 1, UP_COLOUR_INK);
    p->y += 0.5 * p->letter;
    flow(p, margin, text);
    p->y += 0.9 * p->letter;
}

static void section(pen *p, const char *text) {
    make_room(p, 5 * leading(p)); /* a heading never stands alone at the foot */
    p->y += 0.55 * p->letter;
    set_letters(p, 1.15, 1, UP_COLOUR_INK);
    flow(p, margin, text);
    stroke_line(p, margin, p->y + 0.25 * p->letter, page_width - 2 * margin, UP_COLOUR_INK, 0.9);
    p->y += 0.55 * p->letter;
}

static void words(pen *p, const char *text) {
    set_letters(p, 0.93, 0, UP_COLOUR_QUIET);
    make_room(p, lines_of(p, text, page_width - 2 * margin) * leading(p));
    set_letters(p, 0.93, 0, UP_COLOUR_QUIET);
    flow(p, margin, text);
    p->y += 0.15 * p->letter;
}

/* A pale band behind a caution, from here on: it also shows on a black-and-white printer. */
static void band(const pen *p, double height) {
    if (p->measuring) {
        return;
    }
    up_chart_ink(p->cairo, UP_COLOUR_GRID, 0.55);
    cairo_rectangle(p->cairo, margin - 0.35 * p->letter, page_top(p) + p->y, page_width - 2 * margin + 0.7 * p->letter,
                    height);
    cairo_fill(p->cairo);
}

static void tick(pen *p, const char *text, int caution) {
    const double x = margin + (caution ? 2.6 : 1.7) * p->letter;
    set_letters(p, 1, 0, UP_COLOUR_INK);
    const double height = lines_of(p, text, page_width - margin - x) * leading(p);
    make_room(p, height);
    if (caution) {
        band(p, height + 0.1 * p->letter);
        set_letters(p, 1.1, 1, UP_COLOUR_INK);
        say(p, margin + 1.7 * p->letter, 0, "!", 1);
    }
    box(p, margin);
    set_letters(p, 1, 0, UP_COLOUR_INK);
    flow(p, x, text);
    p->y += (caution ? 0.25 : 0.15) * p->letter;
}

/* ---- tables ---- */

/* Room for the columns behind the box, shared as the characters are. */
static double column_unit(const pen *p, const up_paper_line *line) {
    int characters = line->cells - 1;
    for (int i = 0; i < line->cells; i++) {
        characters += abs(line->width[i]);
    }
    return (page_width - 2 * margin - 1.7 * p->letter) / (characters > 0 ? characters : 1);
}

static int row_lines(const pen *p, const up_paper_line *line, double unit) {
    int most = 1;
    for (int i = 0; i < line->cells; i++) {
        const int lines = lines_of(p, line->cell[i], unit * abs(line->width[i]));
        most = lines > most ? lines : most;
    }
    return most;
}

static void cell(pen *p, const char *text, double x, double width, int to_the_right) {
    const double top = p->y;
    if (strcmp(text, UP_PAPER_BLANK) == 0) {
        stroke_line(p, x, p->y + 1.12 * p->letter, width, UP_COLOUR_QUIET, 0.6);
        return;
    }
    do {
        const char *next = text;
        const size_t bytes = up_paper_break(text, width, width_of, p->cairo, &next);
        say(p, to_the_right ? x + width : x, to_the_right ? 1 : 0, text, bytes);
        p->y += leading(p);
        text = next;
    } while (*text);
    p->y = top;
}

static void row(pen *p, const up_paper_line *line) {
    const int head = line->kind == UP_PAPER_HEADS;
    const double unit = column_unit(p, line);
    double x = margin + 1.7 * p->letter;
    set_letters(p, head ? 0.9 : 1, head, head ? UP_COLOUR_QUIET : UP_COLOUR_INK);
    const double height = row_lines(p, line, unit) * leading(p);
    make_room(p, head ? 3 * height : height);
    if (line->kind == UP_PAPER_TICK_ROW) {
        box(p, margin);
    }
    for (int i = 0; i < line->cells; i++) {
        const double width = unit * abs(line->width[i]);
        set_letters(p, head ? 0.9 : 1, head, head ? UP_COLOUR_QUIET : UP_COLOUR_INK);
        cell(p, line->cell[i], x, width, line->width[i] < 0);
        x += width + unit;
    }
    p->y += height;
    stroke_line(p, margin, p->y + 0.12 * p->letter, page_width - 2 * margin, UP_COLOUR_GRID, 0.5);
    p->y += 0.25 * p->letter;
}

static void draw_line(pen *p, const up_paper_line *line) {
    switch (line->kind) {
    case UP_PAPER_TITLE:
        title(p, line->cell[0]);
        break;
    case UP_PAPER_SECTION:
        section(p, line->cell[0]);
        break;
    case UP_PAPER_WORDS:
        words(p, line->cell[0]);
        break;
    case UP_PAPER_CAUTION:
    case UP_PAPER_TICK:
        tick(p, line->cell[0], line->kind == UP_PAPER_CAUTION);
        break;
    case UP_PAPER_HEADS:
    case UP_PAPER_ROW:
    case UP_PAPER_TICK_ROW:
        row(p, line);
        break;
    }
}

/* Does the section that begins at a line fit on the rest of the page? One that fits on no page does. */
static int section_fits(const pen *p, const up_paper *paper, size_t line) {
    pen trial = *p;
    trial.measuring = 1;
    trial.page = 0;
    trial.y = margin;
    do {
        draw_line(&trial, &paper->line[line++]);
    } while (line < paper->count && paper->line[line].kind != UP_PAPER_SECTION);
    return trial.page > 0 || p->y + (trial.y - margin) <= page_height - margin - foot_room;
}

/* Returns the number of pages. */
static int draw_all(pen *p, const up_paper *paper) {
    p->page = 0;
    p->y = margin;
    white_page(p);
    for (size_t i = 0; i < paper->count; i++) {
        if (p->whole && paper->line[i].kind == UP_PAPER_SECTION && !section_fits(p, paper, i)) {
            turn_page(p);
        }
        draw_line(p, &paper->line[i]);
    }
    draw_foot(p);
    return p->page + 1;
}

/* ---- surfaces ---- */

static cairo_status_t write_piece(void *context, const unsigned char *data, unsigned int length) {
    return fwrite(data, 1, length, context) == length ? CAIRO_STATUS_SUCCESS : CAIRO_STATUS_WRITE_ERROR;
}

/* Sets the largest letters with which it goes on pages_most pages, sections whole if possible with the same letters or
 * half a point less. Returns the number of pages. */
static int fit(pen *p, const up_paper *paper, int pages_most) {
    int pages = 0;
    for (p->letter = letter_most;; p->letter -= letter_step) {
        p->whole = 1;
        pages = draw_all(p, paper);
        if (pages > pages_most) {
            p->whole = 0;
            pages = draw_all(p, paper);
        }
        if (pages <= pages_most || p->letter <= letter_least) {
            break;
        }
    }
    const double largest = p->letter;
    for (int step = 1; !p->whole && pages <= pages_most && step <= 2; step++) {
        p->letter = largest - step * letter_step;
        p->whole = 1;
        if (p->letter < letter_least || draw_all(p, paper) > pages_most) {
            p->whole = 0;
            p->letter = largest;
        }
    }
    return pages;
}

/* Letters and pages by a trial that draws nothing. */
static int trial(const up_paper *paper, int pages_most, pen *p) {
    cairo_surface_t *surface = cairo_recording_surface_create(CAIRO_CONTENT_COLOR, NULL);
    cairo_t *cairo = cairo_create(surface);
    *p = (pen){.cairo = cairo, .measuring = 1, .foot = ""};
    const int pages = fit(p, paper, pages_most);
    cairo_destroy(cairo);
    cairo_surface_destroy(surface);
    return pages;
}

static const char *title_of(const up_paper *paper) {
    return paper->count > 0 && paper->line[0].kind == UP_PAPER_TITLE ? paper->line[0].cell[0] : "";
}

static cairo_surface_t *new_surface(const up_paper *paper, up_page_format format, int pages, FILE *file) {
    if (format == UP_PAGE_SVG) {
        return cairo_svg_surface_create_for_stream(write_piece, file, page_width, pages * page_height);
    }
    cairo_surface_t *surface = cairo_pdf_surface_create_for_stream(write_piece, file, page_width, page_height);
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, title_of(paper));
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATE_DATE, ""); /* the same card, the same bytes */
    return surface;
}

int up_paper_draw(const up_paper *paper, up_page_format format, int pages_most, const char *foot, FILE *file) {
    pen p;
    if (paper->out_of_memory) {
        return -1;
    }
    const int pages = trial(paper, pages_most, &p);
    cairo_surface_t *surface = new_surface(paper, format, pages, file);
    cairo_t *cairo = cairo_create(surface);
    p.cairo = cairo;
    p.measuring = 0;
    p.format = format;
    p.foot = foot;
    draw_all(&p, paper);
    cairo_status_t status = cairo_status(cairo);
    cairo_destroy(cairo);
    cairo_surface_finish(surface);
    if (status == CAIRO_STATUS_SUCCESS) {
        status = cairo_surface_status(surface);
    }
    cairo_surface_destroy(surface);
    return status == CAIRO_STATUS_SUCCESS ? pages : -1;
}
