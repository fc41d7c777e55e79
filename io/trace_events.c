#include "io/trace_events.h"

/* 2: always told; 1: told the first time only; 0: left out. */
static int telling(up_event_kind kind) {
    switch (kind) {
    case UP_EVENT_SWITCH:
    case UP_EVENT_BRIDGE_RAISE:
    case UP_EVENT_BRIDGE_LOWER:
    case UP_EVENT_BRIDGE_BRAKE:
    case UP_EVENT_ROD_TOUCHED:
    case UP_EVENT_ROD_LEFT:
    case UP_EVENT_LIMIT_OPENED:
    case UP_EVENT_LIMIT_CLOSED:
    case UP_EVENT_PINCH_SEEN:
    case UP_EVENT_REVERSAL:
    case UP_EVENT_STALL_SEEN:
    case UP_EVENT_TOP_FOUND:
    case UP_EVENT_BOTTOM_FOUND:
    case UP_EVENT_ONE_TOUCH_REFUSED:
    case UP_EVENT_PROTECTOR_TRIPPED:
    case UP_EVENT_PROTECTOR_RESET:
    case UP_EVENT_SUPPLY_STEP:
    case UP_EVENT_POWER_LOST:
    case UP_EVENT_EDGE_LOST:
    case UP_EVENT_EDGE_DOUBLED:
    case UP_EVENT_ENCODER_DEAD:
    case UP_EVENT_BATTERY_LOST:
    case UP_EVENT_BATTERY_BACK:
        return 2;
    case UP_EVENT_ARMATURE_STARTS:
    case UP_EVENT_GLASS_STARTS:
    case UP_EVENT_HEADER_TOUCHED:
    case UP_EVENT_HEADER_LEFT:
    case UP_EVENT_UP_STOP_TOUCHED:
    case UP_EVENT_DOWN_STOP_TOUCHED:
    case UP_EVENT_DAMPER_LIMIT:
    case UP_EVENT_CONTROLLER_RESTS:
        return 1;
    default:
        return 0;
    }
}

/* The glass's last stop and its turning round at a reversal are told; all the stops of a stick-slip motion are not. */
static int told_at_its_place(const up_trace *trace, size_t i) {
    up_event_kind kind = trace->event[i].kind;
    if (kind == UP_EVENT_GLASS_STOPS) {
        return up_trace_find(trace, UP_EVENT_GLASS_STARTS, i + 1) == trace->events &&
               up_trace_find(trace, UP_EVENT_GLASS_STOPS, i + 1) == trace->events;
    }
    if (kind == UP_EVENT_GLASS_TURNS) {
        return up_trace_find(trace, UP_EVENT_REVERSAL, 0) < i &&
               up_trace_find(trace, UP_EVENT_GLASS_TURNS, i + 1) == trace->events;
    }
    return 0;
}

size_t up_trace_highlights(const up_trace *trace, size_t *index, size_t room) {
    unsigned char seen[UP_EVENT_COUNT] = {0};
    size_t count = 0;
    for (size_t i = 0; i < trace->events && room > 0; i++) {
        up_event_kind kind = trace->event[i].kind;
        int weight = telling(kind);
        int told = weight == 2 || (weight == 1 && !seen[kind]) || told_at_its_place(trace, i);
        if (!told) {
            continue;
        }
        seen[kind] = 1;
        if (count < room) {
            index[count++] = i;
        } else {
            index[room - 1] = i;
        }
    }
    return count;
}

const char *up_trace_short_text(up_event_kind kind) {
    switch (kind) {
    case UP_EVENT_GLASS_STARTS:
        return "glass starts";
    case UP_EVENT_HEADER_TOUCHED:
        return "enters header seal";
    case UP_EVENT_HEADER_LEFT:
        return "leaves header seal";
    case UP_EVENT_ROD_TOUCHED:
        return "meets the test rod";
    case UP_EVENT_ROD_LEFT:
        return "leaves the test rod";
    case UP_EVENT_PINCH_SEEN:
        return "obstacle seen";
    case UP_EVENT_TOP_FOUND:
        return "taken as the top";
    case UP_EVENT_BOTTOM_FOUND:
        return "taken as the bottom";
    case UP_EVENT_CONTROLLER_RESTS:
        return "controller done";
    case UP_EVENT_ARMATURE_STARTS:
        return "armature starts";
    case UP_EVENT_BRIDGE_BRAKE:
        return "motor shorted";
    case UP_EVENT_STALL_SEEN:
        return "stall seen";
    case UP_EVENT_REVERSAL:
        return "reverses";
    case UP_EVENT_GLASS_TURNS:
        return "glass turns round";
    default:
        return up_event_text(kind);
    }
}

size_t up_trace_find(const up_trace *trace, up_event_kind kind, size_t from) {
    for (size_t i = from; i < trace->events; i++) {
        if (trace->event[i].kind == kind) {
            return i;
        }
    }
    return trace->events;
}
