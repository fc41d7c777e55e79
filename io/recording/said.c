/* What can be said about a recording, as words. */
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "io/recording.h"
#include "io/sheet_number.h"

static const struct {
    const char *word, *unit, *on_glass;
} signal_rows[UP_SIGNAL_COUNT] = {
    [UP_SIGNAL_VOLTAGE] = {"voltage", "V", "V"},         [UP_SIGNAL_CURRENT] = {"current", "A", "A"},
    [UP_SIGNAL_SPEED] = {"speed", "rad/s", "m/s"},       [UP_SIGNAL_POSITION] = {"position", "rad", "m"},
    [UP_SIGNAL_PULSES] = {"pulses", "1", "1"},           [UP_SIGNAL_FORCE] = {"force", "N", "N"},
    [UP_SIGNAL_TEMPERATURE] = {"temperature", "K", "K"}, [UP_SIGNAL_SOUND] = {"sound", "1", "1"},
};

const char *up_signal_word(up_signal signal) {
    return (int)signal >= 0 && signal < UP_SIGNAL_COUNT ? signal_rows[signal].word : "";
}

const char *up_signal_unit(up_signal signal, int on_glass) {
    return (int)signal < 0 || signal >= UP_SIGNAL_COUNT ? ""
           : on_glass                                   ? signal_rows[signal].on_glass
                                                        : signal_rows[signal].unit;
}

static const char *const role_words[UP_ROLE_COUNT] = {
    [UP_ROLE_SIGNAL] = "signal", [UP_ROLE_TIME] = "time",        [UP_ROLE_NUMBERING] = "number",
    [UP_ROLE_TWIN] = "twin",     [UP_ROLE_UNKNOWN] = "unknown",  [UP_ROLE_TEXT] = "text",
    [UP_ROLE_EMPTY] = "empty",   [UP_ROLE_NOTHING] = "left out",
};

const char *up_role_word(up_role role) {
    return (int)role >= 0 && role < UP_ROLE_COUNT ? role_words[role] : "";
}

void up_recording_options_usual(up_recording_options *options) {
    *options = (up_recording_options){.rate = NAN, .start = NAN, .from = NAN, .to = NAN};
}

static int read_kind(const char *word, up_said_column *said) {
    for (int i = 0; i < UP_SIGNAL_COUNT; i++) {
        if (strcasecmp(word, signal_rows[i].word) == 0) {
            said->kind = UP_SAID_SIGNAL;
            said->signal = (up_signal)i;
            return 1;
        }
    }
    static const struct {
        const char *word;
        up_said_kind kind;
    } others[] = {{"time", UP_SAID_TIME}, {"number", UP_SAID_NUMBERING}, {"nothing", UP_SAID_NOTHING}};
    for (size_t i = 0; i < sizeof others / sizeof others[0]; i++) {
        if (strcasecmp(word, others[i].word) == 0) {
            said->kind = others[i].kind;
            return 1;
        }
    }
    return 0;
}

int up_said_column_read(const char *text, up_said_column *said, const char **expected) {
    const char *equals = strrchr(text, '=');
    char name[UP_FACT_TEXT_MAX], rest[UP_FACT_TEXT_MAX], word[UP_FACT_TEXT_MAX];
    *said = (up_said_column){.signal = UP_SIGNAL_COUNT};
    *expected = "NAME=QUANTITY[UNIT]";
    if (equals == NULL || equals == text || (size_t)(equals - text) >= sizeof name) {
        return -1;
    }
    memcpy(name, text, (size_t)(equals - text));
    name[equals - text] = '\0';
    if (!up_trimmed(name, said->name, sizeof said->name) || !up_trimmed(equals + 1, rest, sizeof rest)) {
        return -1;
    }
    char *open = strchr(rest, '[');
    if (open != NULL) {
        char *close = strrchr(open, ']');
        if (close == NULL || close[1] != '\0') {
            *expected = "the unit in brackets: NAME=current[mA]";
            return -1;
        }
        *close = '\0';
        *open = '\0';
        if (!up_trimmed(open + 1, said->unit, sizeof said->unit)) {
            return -1;
        }
    }
    if (!up_trimmed(rest, word, sizeof word) || !read_kind(word, said)) {
        *expected =
            "one of voltage, current, speed, position, pulses, force, temperature, sound, time, number, nothing";
        return -1;
    }
    return 0;
}
