#include "io/sheet_sections.h"

#include <stdio.h>
#include <string.h>

const char *up_key_in_section(const char *key, const char *section) {
    size_t length = strlen(section);
    return strncmp(key, section, length) == 0 && key[length] == '.' ? key + length + 1 : NULL;
}

char *up_section_opened(int place, char out[UP_SECTION_NAME_MAX]) {
    const char *key = up_entry_key(up_entry_at(place));
    snprintf(out, UP_SECTION_NAME_MAX, "%.*s", (int)strcspn(key, "."), key);
    for (int i = 0; i < place; i++) {
        if (up_key_in_section(up_entry_key(up_entry_at(i)), out) != NULL) {
            out[0] = '\0';
            break;
        }
    }
    return out;
}

int up_section_used(const char *section, int families) {
    for (int i = 0; i < UP_ENTRY_COUNT; i++) {
        up_entry_ref entry = up_entry_at(i);
        if (up_key_in_section(up_entry_key(entry), section) != NULL && (up_entry_families(entry) & families) != 0) {
            return 1;
        }
    }
    return 0;
}
