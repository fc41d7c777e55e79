#include "core/base/status.h"

const char *up_status_text(up_status status) {
    static const char *const text[UP_STATUS_COUNT] = {
#define UP_STATUS_TEXT(id, words) words,
        UP_STATUS_LIST(UP_STATUS_TEXT)
#undef UP_STATUS_TEXT
    };
    if ((unsigned)status >= (unsigned)UP_STATUS_COUNT) {
        return "unknown status";
    }
    return text[status];
}
