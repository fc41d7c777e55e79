/* Names and sentences of events, accounts and endings, from the lists in run.h. */
#include "core/sim/run.h"

const char *up_ledger_name(up_ledger_account account) {
    static const char *const name[] = {
#define UP_NAME(id, text) #id,
        UP_LEDGER_LIST(UP_NAME)
#undef UP_NAME
    };
    return (unsigned)account < (unsigned)UP_LEDGER_COUNT ? name[account] : "unknown";
}

const char *up_ledger_text(up_ledger_account account) {
    static const char *const words[] = {
#define UP_TEXT(id, text) text,
        UP_LEDGER_LIST(UP_TEXT)
#undef UP_TEXT
    };
    return (unsigned)account < (unsigned)UP_LEDGER_COUNT ? words[account] : "unknown";
}

const char *up_event_name(up_event_kind kind) {
    static const char *const name[] = {
#define UP_NAME(id, text) #id,
        UP_EVENT_LIST(UP_NAME)
#undef UP_NAME
    };
    return (unsigned)kind < (unsigned)UP_EVENT_COUNT ? name[kind] : "unknown";
}

const char *up_event_text(up_event_kind kind) {
    static const char *const words[] = {
#define UP_TEXT(id, text) text,
        UP_EVENT_LIST(UP_TEXT)
#undef UP_TEXT
    };
    return (unsigned)kind < (unsigned)UP_EVENT_COUNT ? words[kind] : "unknown";
}

const char *up_end_name(up_end end) {
    static const char *const name[] = {
#define UP_NAME(id, text) #id,
        UP_END_LIST(UP_NAME)
#undef UP_NAME
    };
    return (unsigned)end < (unsigned)UP_END_COUNT ? name[end] : "unknown";
}

const char *up_end_text(up_end end) {
    static const char *const words[] = {
#define UP_TEXT(id, text) text,
        UP_END_LIST(UP_TEXT)
#undef UP_TEXT
    };
    return (unsigned)end < (unsigned)UP_END_COUNT ? words[end] : "unknown";
}
