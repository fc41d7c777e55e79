/* Every status a library call can return: one list makes the enum and the texts. */
#ifndef UPSTOP_BASE_STATUS_H
#define UPSTOP_BASE_STATUS_H

#define UP_STATUS_LIST(X)                                                                   \
    X(UP_OK, "done")                                                                        \
    X(UP_BAD_VALUE, "a value is outside its bounds or not a number")                        \
    X(UP_BAD_GEOMETRY, "the parts cannot be put together or cannot reach the whole travel") \
    X(UP_BAD_OPTION, "an option of the run makes no sense for this door")                   \
    X(UP_MEMORY_TOO_SMALL, "the memory handed in is too small")                             \
    X(UP_STEP_LIMIT, "the run needed more steps or events than its stated bound")           \
    X(UP_NOT_FINITE, "the run left the range of finite numbers")                            \
    X(UP_STOPPED, "the caller asked to stop")

typedef enum up_status {
#define UP_STATUS_ENUM(id, text) id,
    UP_STATUS_LIST(UP_STATUS_ENUM)
#undef UP_STATUS_ENUM
        UP_STATUS_COUNT
} up_status;

/* One plain sentence; static storage; never NULL, whatever is passed. */
const char *up_status_text(up_status status);

#endif
