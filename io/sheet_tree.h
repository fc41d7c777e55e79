/* The text of a sheet as a tree in which every piece knows its line and column. The only file that knows libfyaml. */
#ifndef UPSTOP_IO_SHEET_TREE_H
#define UPSTOP_IO_SHEET_TREE_H

#include <stddef.h>

#include "io/findings.h"
#include "io/sheet.h"

typedef enum up_node_kind { UP_NODE_TEXT, UP_NODE_LIST, UP_NODE_MAP } up_node_kind;

typedef struct up_node {
    up_node_kind kind;
    up_place place;
    char *text; /* TEXT: terminated, without NUL inside; "" for nothing at all */
    int quoted; /* TEXT: 1 when written with quotes or as a block              */
    char *key;  /* of a map's member; NULL elsewhere                           */
    up_place key_place;
    struct up_node *first; /* LIST, MAP: members in the order of the file                 */
    struct up_node *last;
    struct up_node *next;
} up_node;

typedef struct up_tree {
    up_node *root; /* NULL: nothing was written                                  */
    void *blocks;  /* owns everything; free with up_tree_free                    */
    int complete;  /* 0: the text broke off, the tree holds what came before it  */
    int out_of_memory;
} up_tree;

/* Findings name what is not UTF-8, not YAML, or YAML that a sheet does not use (anchors, aliases, tags, several
 * documents, nesting deeper than UP_SHEET_DEPTH_MAX). */
void up_tree_read(const char *text, size_t size, up_tree *tree, up_findings *findings);
void up_tree_free(up_tree *tree);

#endif
