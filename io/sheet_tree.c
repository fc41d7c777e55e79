#include "io/sheet_tree.h"

#include <libfyaml.h>
#include <stdlib.h>
#include <string.h>

#include "io/sheet_text.h"

typedef struct block {
    struct block *next;
    max_align_t data[];
} block;

typedef struct builder {
    up_tree *tree;
    up_findings *findings;
    up_node *open[UP_SHEET_DEPTH_MAX + 1]; /* maps and lists not yet closed, outermost first */
    char *key[UP_SHEET_DEPTH_MAX + 1];     /* key waiting for its value, NULL: a key comes next */
    up_place key_place[UP_SHEET_DEPTH_MAX + 1];
    int depth;
    int documents;
    int refused; /* 1: stop reading */
} builder;

static void *take(up_tree *tree, size_t size) {
    block *new_block = calloc(1, sizeof *new_block + size);
    if (new_block == NULL) {
        tree->out_of_memory = 1;
        return NULL;
    }
    new_block->next = tree->blocks;
    tree->blocks = new_block;
    return new_block->data;
}

void up_tree_free(up_tree *tree) {
    block *at = tree->blocks;
    while (at != NULL) {
        block *next = at->next;
        free(at);
        at = next;
    }
    *tree = (up_tree){0};
}

static void refuse(builder *b, up_place place, const char *found, const char *expected, const char *mend) {
    up_findings_add(b->findings, UP_FOUND_NOT_SUPPORTED, UP_SEVERITY_ERROR, place.line, place.column, "", found,
                    expected, mend);
}

static up_place place_of(struct fy_event *event) {
    const struct fy_mark *mark = fy_event_start_mark(event);
    return mark == NULL ? (up_place){0, 0} : (up_place){mark->line + 1, mark->column + 1};
}

static up_node *new_node(builder *b, up_node_kind kind, up_place place) {
    up_node *node = take(b->tree, sizeof *node);
    if (node == NULL) {
        b->refused = 1;
        return NULL;
    }
    node->kind = kind;
    node->place = place;
    return node;
}

/* Hangs a value under what is open; the key that was waiting goes with it. */
static void hang(builder *b, up_node *node) {
    if (b->depth == 0) {
        b->tree->root = node;
        return;
    }
    up_node *parent = b->open[b->depth - 1];
    if (parent->kind == UP_NODE_MAP) {
        node->key = b->key[b->depth - 1];
        node->key_place = b->key_place[b->depth - 1];
        b->key[b->depth - 1] = NULL;
    }
    if (parent->first == NULL) {
        parent->first = node;
    } else {
        parent->last->next = node;
    }
    parent->last = node;
}

static int waits_for_key(const builder *b) {
    return b->depth > 0 && b->open[b->depth - 1]->kind == UP_NODE_MAP && b->key[b->depth - 1] == NULL;
}

static void refuse_decoration(builder *b, struct fy_token *anchor, struct fy_token *tag, up_place place) {
    if (anchor != NULL) {
        refuse(b, place, "an anchor (&name)", "plain entries: one door, each entry written once",
               "take the anchor out");
    }
    if (tag != NULL) {
        refuse(b, place, "a tag (!name)", "plain numbers, words and texts", "take the tag out");
    }
}

static void open_node(builder *b, up_node_kind kind, up_place place) {
    if (waits_for_key(b)) {
        refuse(b, place, "a mapping or list used as a key", "a plain word as key", "write the key as one word");
        b->refused = 1;
        return;
    }
    if (b->depth >= UP_SHEET_DEPTH_MAX) {
        refuse(b, place, "mappings or lists nested more than 8 deep", "section, entry, and at most a long form in it",
               "take out the extra brackets or indents");
        b->refused = 1;
        return;
    }
    up_node *node = new_node(b, kind, place);
    if (node != NULL) {
        hang(b, node);
        b->open[b->depth] = node;
        b->key[b->depth] = NULL;
        b->depth++;
    }
}

/* No-break, narrow no-break and thin spaces, which come along when a value is pasted, become plain ones. */
static void plain_spaces(char *text) {
    static const char *const wide[] = {"\xC2\xA0", "\xE2\x80\xAF", "\xE2\x80\x89"};
    for (size_t i = 0; i < sizeof wide / sizeof wide[0]; i++) {
        const size_t length = strlen(wide[i]);
        for (char *at = strstr(text, wide[i]); at != NULL; at = strstr(at, wide[i])) {
            *at = ' ';
            memmove(at + 1, at + length, strlen(at + length) + 1);
        }
    }
}

static char *copy_text(builder *b, struct fy_token *token, up_place place) {
    size_t length = 0;
    const char *text = fy_token_get_text(token, &length);
    if (text == NULL) {
        text = "";
        length = 0;
    }
    char *copy = take(b->tree, length + 1);
    if (copy == NULL) {
        b->refused = 1;
        return NULL;
    }
    memcpy(copy, text, length);
    if (memchr(copy, '\0', length) != NULL) { /* "\0" inside double quotes */
        refuse(b, place, "a NUL character", "text without it", "take it out");
        b->refused = 1;
    }
    plain_spaces(copy);
    return copy;
}

static void scalar(builder *b, struct fy_event *event, up_place place) {
    refuse_decoration(b, event->scalar.anchor, event->scalar.tag, place);
    char *text = copy_text(b, event->scalar.value, place);
    if (text == NULL) {
        return;
    }
    if (waits_for_key(b)) {
        b->key[b->depth - 1] = text;
        b->key_place[b->depth - 1] = place;
        return;
    }
    up_node *node = new_node(b, UP_NODE_TEXT, place);
    if (node != NULL) {
        node->text = text;
        node->quoted = fy_token_scalar_style(event->scalar.value) != FYSS_PLAIN;
        hang(b, node);
    }
}

static void alias(builder *b, up_place place) {
    refuse(b, place, "an alias (*name)", "plain entries: each written where it belongs",
           "write the value here instead; a text that begins with * needs quotes");
    if (waits_for_key(b)) {
        b->refused = 1;
        return;
    }
    up_node *node = new_node(b, UP_NODE_TEXT, place);
    char *empty = take(b->tree, 1);
    if (node != NULL && empty != NULL) {
        node->text = empty;
        hang(b, node);
    }
}

static void document_start(builder *b, up_place place) {
    b->documents++;
    if (b->documents > 1) {
        refuse(b, place, "a second document (---)", "one door in one file", "put the second door into its own file");
        b->refused = 1;
    }
}

static void take_event(builder *b, struct fy_event *event) {
    up_place place = place_of(event);
    switch (event->type) {
    case FYET_DOCUMENT_START:
        document_start(b, place);
        break;
    case FYET_MAPPING_START:
        refuse_decoration(b, event->mapping_start.anchor, event->mapping_start.tag, place);
        open_node(b, UP_NODE_MAP, place);
        break;
    case FYET_SEQUENCE_START:
        refuse_decoration(b, event->sequence_start.anchor, event->sequence_start.tag, place);
        open_node(b, UP_NODE_LIST, place);
        break;
    case FYET_MAPPING_END:
    case FYET_SEQUENCE_END:
        b->depth--;
        break;
    case FYET_SCALAR:
        scalar(b, event, place);
        break;
    case FYET_ALIAS:
        alias(b, place);
        break;
    case FYET_STREAM_END:
        b->tree->complete = 1;
        break;
    default:
        break;
    }
}

/* What the YAML library said, as one finding: the first is the cause, the others follow from it. */
static void report_syntax(struct fy_diag *diag, up_findings *findings) {
    void *previous = NULL;
    struct fy_diag_error *error = fy_diag_errors_iterate(diag, &previous);
    int line = error != NULL && error->line > 0 ? error->line : 0;
    int column = error != NULL && error->column > 0 ? error->column : 0;
    up_findings_add(
        findings, UP_FOUND_TEXT_BROKEN, UP_SEVERITY_ERROR, line, column, "",
        error != NULL && error->msg != NULL ? error->msg : "text that is not YAML",
        "sections with entries indented under them, `name: value`",
        "look at the colon, the indent (blanks, no tabs), brackets and quotes in this line and the one above");
}

static void read_events(builder *b, struct fy_parser *parser, struct fy_diag *diag) {
    while (!b->refused && !b->tree->complete) {
        struct fy_event *event = fy_parser_parse(parser);
        if (event == NULL) {
            report_syntax(diag, b->findings);
            return;
        }
        take_event(b, event);
        fy_parser_event_free(parser, event);
    }
}

void up_tree_read(const char *text, size_t size, up_tree *tree, up_findings *findings) {
    *tree = (up_tree){0};
    size_t skip = 0;
    if (!up_text_is_clean(text, size, &skip, findings)) {
        return;
    }
    struct fy_diag_cfg diag_settings;
    fy_diag_cfg_default(&diag_settings);
    diag_settings.fp = NULL;
    diag_settings.colorize = false;
    struct fy_diag *diag = fy_diag_create(&diag_settings);
    if (diag == NULL) {
        tree->out_of_memory = 1;
        return;
    }
    fy_diag_set_collect_errors(diag, true);
    struct fy_parse_cfg settings = {.flags = FYPCF_QUIET | FYPCF_COLLECT_DIAG, .diag = diag};
    struct fy_parser *parser = fy_parser_create(&settings);
    if (parser == NULL || fy_parser_set_string(parser, text + skip, size - skip) != 0) {
        tree->out_of_memory = 1;
    } else {
        builder b = {.tree = tree, .findings = findings};
        read_events(&b, parser, diag);
    }
    if (parser != NULL) {
        fy_parser_destroy(parser);
    }
    fy_diag_destroy(diag);
}
