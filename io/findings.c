#include "io/findings.h"

#include <stdlib.h>
#include <string.h>

static const struct {
    const char *word, *text;
} finding_rows[UP_FOUND_COUNT] = {
#define UP_FINDING_ROW(id, word, text) {word, text},
    UP_FINDING_LIST(UP_FINDING_ROW)
#undef UP_FINDING_ROW
};

const char *up_finding_word(up_finding_code code) {
    return (int)code >= 0 && code < UP_FOUND_COUNT ? finding_rows[code].word : "unknown";
}

const char *up_finding_text(up_finding_code code) {
    return (int)code >= 0 && code < UP_FOUND_COUNT ? finding_rows[code].text : "unknown finding";
}

/* A copy that is safe on a terminal: whatever a file holds, no control character reaches the screen. */
static char *copy_shown(const char *text) {
    static const char hex[] = "0123456789abcdef";
    if (text == NULL) {
        text = "";
    }
    size_t length = strlen(text);
    char *copy = malloc(4 * length + 1);
    if (copy == NULL) {
        return NULL;
    }
    size_t at = 0;
    for (size_t i = 0; i < length; i++) {
        unsigned char c = (unsigned char)text[i];
        if (c < 0x20 || c == 0x7f) {
            copy[at++] = '\\';
            if (c == '\n' || c == '\t' || c == '\r') {
                copy[at++] = c == '\n' ? 'n' : c == '\t' ? 't' : 'r';
            } else {
                copy[at++] = 'x';
                copy[at++] = hex[c >> 4];
                copy[at++] = hex[c & 15];
            }
        } else {
            copy[at++] = (char)c;
        }
    }
    copy[at] = '\0';
    return copy;
}

static void free_finding(up_finding *finding) {
    free(finding->entry);
    free(finding->found);
    free(finding->expected);
    free(finding->mend);
}

static int make_room(up_findings *findings) {
    if (findings->count < findings->capacity) {
        return 1;
    }
    int capacity = findings->capacity == 0 ? 16 : 2 * findings->capacity;
    up_finding *item = realloc(findings->item, (size_t)capacity * sizeof *item);
    if (item == NULL) {
        return 0;
    }
    findings->item = item;
    findings->capacity = capacity;
    return 1;
}

void up_findings_add(up_findings *findings, up_finding_code code, up_severity severity, int line, int column,
                     const char *entry, const char *found, const char *expected, const char *mend) {
    if (severity == UP_SEVERITY_ERROR) {
        findings->errors++;
    } else {
        findings->warnings++;
    }
    if (findings->count >= UP_FINDINGS_MAX) {
        return;
    }
    if (!make_room(findings)) {
        findings->out_of_memory = 1;
        return;
    }
    up_finding new_one = {
        code, severity, line, column, copy_shown(entry), copy_shown(found), copy_shown(expected), copy_shown(mend)};
    if (new_one.entry == NULL || new_one.found == NULL || new_one.expected == NULL || new_one.mend == NULL) {
        free_finding(&new_one);
        findings->out_of_memory = 1;
        return;
    }
    findings->item[findings->count++] = new_one;
}

static int comes_before(const up_finding *a, const up_finding *b) {
    return a->line != b->line ? a->line < b->line : a->column < b->column;
}

/* Insertion sort: it keeps the order of findings at one place, and there are at most UP_FINDINGS_MAX. */
void up_findings_sort(up_findings *findings) {
    for (int i = 1; i < findings->count; i++) {
        up_finding moved = findings->item[i];
        int at = i;
        while (at > 0 && comes_before(&moved, &findings->item[at - 1])) {
            findings->item[at] = findings->item[at - 1];
            at--;
        }
        findings->item[at] = moved;
    }
}

static void print_part(const char *label, const char *text, FILE *out) {
    if (text[0] != '\0') {
        fprintf(out, "    %-9s %s\n", label, text);
    }
}

void up_findings_print(const up_findings *findings, const char *path, FILE *out) {
    for (int i = 0; i < findings->count; i++) {
        const up_finding *finding = &findings->item[i];
        fputs(path, out);
        if (finding->line > 0) {
            fprintf(out, ":%d:%d", finding->line, finding->column);
        }
        fprintf(out, ": %s", finding->severity == UP_SEVERITY_ERROR ? "error" : "warning");
        if (finding->entry[0] != '\0') {
            fprintf(out, " in %s", finding->entry);
        }
        fprintf(out, ": %s\n", up_finding_text(finding->code));
        print_part("found", finding->found, out);
        print_part("expected", finding->expected, out);
        print_part("mend", finding->mend, out);
    }
    int kept_back = findings->errors + findings->warnings - findings->count;
    if (kept_back > 0) {
        fprintf(out, "%s: and %d more findings of the same kind, not shown\n", path, kept_back);
    }
}

void up_findings_free(up_findings *findings) {
    for (int i = 0; i < findings->count; i++) {
        free_finding(&findings->item[i]);
    }
    free(findings->item);
    *findings = (up_findings){0};
}
