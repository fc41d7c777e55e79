#include "io/recording/words.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

enum { NAME_MAX_LENGTH = UP_FACT_TEXT_MAX };

/* Lower case, every run of other characters one blank, a blank at both ends: " sample interval ". Bytes of UTF-8 count as
 * letters. */
static void simplified(const char *text, char *out, size_t size) {
    size_t at = 0;
    out[at++] = ' ';
    for (; *text != '\0' && at + 2 < size; text++) {
        const unsigned char c = (unsigned char)*text;
        if (isalnum(c) || c >= 0x80 || c == '#') {
            out[at++] = (char)tolower(c);
        } else if (out[at - 1] != ' ') {
            out[at++] = ' ';
        }
    }
    if (out[at - 1] != ' ') {
        out[at++] = ' ';
    }
    out[at] = '\0';
}

/* Is one of the words (each " word " or " part") in it? A trailing blank asks for a whole word, a sign = in front for nothing
 * else beside it. */
static int holds(const char *simple, const char *const *words) {
    for (; *words != NULL; words++) {
        if ((*words)[0] == '=' ? strcmp(simple, *words + 1) == 0 : strstr(simple, *words) != NULL) {
            return 1;
        }
    }
    return 0;
}

/* Words of English, German, French, Spanish and Italian, as loggers sold in Europe print them. Order matters: what is said
 * more exactly comes first. */
static const struct {
    up_signal signal;
    int on_glass;
    const char *words[24];
} signal_words[] = {
    {UP_SIGNAL_PULSES, 0, {" hall", " puls", " encoder", " impuls", " tacho ", " edge", " index ", NULL}},
    {UP_SIGNAL_SOUND, 0, {" sound", " mic ", " microphone", " mikrofon", " audio", " schall", " whine", NULL}},
    {UP_SIGNAL_TEMPERATURE, 0, {" temp", " thermo", NULL}},
    {UP_SIGNAL_VOLTAGE,
     0,
     {" volt", " spannung", " tension", " voltaje", " tensione", " supply ", " battery ", " u ", " ubat ", " vbat ",
      " ubatt ", " vbatt ", " u1 ", " u2 ", " vmot ", " umot ", " v ", NULL}},
    {UP_SIGNAL_CURRENT,
     0,
     {" current", " strom", " courant", " corriente", " corrente", " amps ", " ampere", " shunt", " clamp", " zange",
      " i ", " i1 ", " i2 ", " imot ", " imotor ", NULL}},
    {UP_SIGNAL_FORCE, 0, {" force", " kraft", " fuerza", " forza", " load cell", NULL}},
    {UP_SIGNAL_SPEED, 1, {" glass speed", " glass velocity", " velocity", " geschwindigkeit", " vitesse", NULL}},
    {UP_SIGNAL_SPEED, 0, {" speed", " drehzahl", " rpm ", " omega ", NULL}},
    {UP_SIGNAL_POSITION, 0, {" angle", " winkel", " turns ", NULL}},
    {UP_SIGNAL_POSITION, 1, {" position", " travel", " weg ", " hub ", " stroke", " displacement", NULL}},
};

up_meaning up_name_meaning(const char *name, up_signal *signal, int *on_glass) {
    static const char *const times[] = {" time", " zeit",   " temps ",    " tiempo",    " tempo", " elapsed",
                                        " date", " datum",  " timestamp", " uhrzeit",   " t ",    " seconds ",
                                        " sec ", " clock ", " second ",   " sekunden ", NULL};
    static const char *const numbers[] = {" sample ",   " samples ", " sample no", " sample num", " no ",
                                          " nr ",       " number ",  " n ",        " # ",         " scan ",
                                          " scan no",   " record ",  " row ",      " point ",     " count ",
                                          " sequence ", " idx ",     " lfd ",      NULL};
    static const char *const index[] = {" index ", NULL};
    char simple[NAME_MAX_LENGTH + 4];
    simplified(name, simple, sizeof simple);
    if (strcmp(simple, " index ") == 0 || holds(simple, numbers)) {
        return UP_MEANS_NUMBERING;
    }
    if (holds(simple, times) && !holds(simple, index)) {
        return UP_MEANS_TIME;
    }
    for (size_t i = 0; i < sizeof signal_words / sizeof signal_words[0]; i++) {
        if (holds(simple, signal_words[i].words)) {
            *signal = signal_words[i].signal;
            *on_glass = signal_words[i].on_glass;
            return UP_MEANS_SIGNAL;
        }
    }
    return UP_MEANS_NOTHING;
}

int up_name_is_twin(const char *name, size_t *length) {
    static const char *const tails[] = {"peak detect", "peakdetect", "peak",      "(peak)", "(pk)",  " pk", "(min)",
                                        " min",        "_min",       "(minimum)", " lower", "(low)", NULL};
    const size_t size = strlen(name);
    for (int i = 0; tails[i] != NULL; i++) {
        const size_t tail = strlen(tails[i]);
        if (size > tail && strcasecmp(name + size - tail, tails[i]) == 0) {
            *length = size - tail;
            while (*length > 0 && strchr(" _-:/(", name[*length - 1]) != NULL) {
                (*length)--;
            }
            return *length > 0;
        }
    }
    return 0;
}

up_key up_key_meaning(const char *key) {
    static const struct {
        up_key key;
        const char *words[24];
    } rows[] = {
        {UP_KEY_TIME_UNIT,
         {" horizontal unit", " hunit ", " x unit", " xunit", " time unit", " zeiteinheit ", " h unit", NULL}},
        {UP_KEY_INTERVAL,
         {" interval", " sampling period", " sample period", " increment", " xincrement ", " x increment", " delta t ",
          " dt ", " time step ", " timestep ", " hresolution ", " abtastintervall ", " tinterval ", "= step ",
          " x step ", " time step ", " xinc ", " delta x ", NULL}},
        {UP_KEY_RATE,
         {" sample rate", " sampling rate", " samplerate", " samplingrate", " sampling frequency", " sample frequency",
          " fs ", " abtastrate ", " scan rate", " samples per second ", "= rate ", "= rate hz ", " acquisition rate",
          " recording rate", " logging rate", NULL}},
        {UP_KEY_COUNT,
         {" record length ", " points ", " samples ", " memory length ", " number of samples ", " blocksize ", NULL}},
        {UP_KEY_UNIT,
         {" vertical unit", " vunit ", " y unit", " yunit ", " units ", " unit ", " einheit ", " einheiten ", NULL}},
        {UP_KEY_START,
         {" start ", " xstart ", " x start", " hoffset ", " x origin ", " xorigin ", " xzero ", " t0 ", " tstart ",
          " first time ", " first point ", " x0 ", NULL}},
        {UP_KEY_NAME,
         {" tracename ", " trace name ", " channel name", " channel ", " signal ", " signal name", " source ", " name ",
          " kanal ", " label", NULL}},
    };
    char simple[NAME_MAX_LENGTH + 4];
    static const char *const others[] = {" baud", " refresh", " heart", " display", NULL};
    simplified(key, simple, sizeof simple);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0] && !holds(simple, others); i++) {
        if (holds(simple, rows[i].words)) {
            return rows[i].key;
        }
    }
    return UP_KEY_OTHER;
}

/* ---- a unit inside a name ---- */

static void copy_trimmed(const char *from, const char *to, char *out, size_t size) {
    while (from < to && (*from == ' ' || *from == '\t')) {
        from++;
    }
    while (to > from && (to[-1] == ' ' || to[-1] == '\t')) {
        to--;
    }
    const size_t length = (size_t)(to - from) < size - 1 ? (size_t)(to - from) : size - 1;
    memcpy(out, from, length);
    out[length] = '\0';
}

static const char *in_brackets(const char *name, char *bare, size_t bare_size, char *unit, size_t unit_size) {
    static const char opening[] = "([{<", closing[] = ")]}>";
    const char *open = NULL, *close = NULL;
    for (const char *at = name; *at != '\0'; at++) {
        const char *kind = strchr(opening, *at);
        const char *end = kind != NULL ? strchr(at, closing[kind - opening]) : NULL;
        if (end != NULL && end > at + 1) {
            open = at;
            close = end;
        }
    }
    if (open == NULL) {
        return NULL;
    }
    copy_trimmed(open + 1, close, unit, unit_size);
    copy_trimmed(name, open, bare, bare_size);
    /* A mark that led to the bracket: "Voltage; [V]", "Voltage in [V]". */
    size_t length = strlen(bare);
    while (length > 0 && strchr(" ;,:/|-_~=@*", bare[length - 1]) != NULL) {
        bare[--length] = '\0';
    }
    if (length > 3 && strcmp(bare + length - 3, " in") == 0) {
        bare[length - 3] = '\0';
    }
    return "in brackets";
}

/* Is the unit behind an unusual mark to be believed? "Channel-A" is no current. */
static int is_believable(up_units *units, const char *bare, const char *unit, char mark, int in) {
    up_signal signal = UP_SIGNAL_COUNT;
    int on_glass = 0, digits = 0;
    const up_unit_meaning found = up_unit_look(units, unit);
    if (found.dimension != UP_DIMENSION_TIME && found.dimension != UP_DIMENSION_SIGNAL) {
        return 0;
    }
    const up_meaning says = up_name_meaning(bare, &signal, &on_glass);
    if (in) { /* "leads in V" */
        return 1;
    }
    for (const char *at = bare; *at != '\0'; at++) {
        digits |= isdigit((unsigned char)*at);
    }
    if (says == UP_MEANS_TIME || says == UP_MEANS_SIGNAL) {
        return says == UP_MEANS_TIME ? found.dimension == UP_DIMENSION_TIME
                                     : found.dimension == UP_DIMENSION_SIGNAL && found.signal == signal;
    }
    return mark == '/' || (digits && mark != '.') || (strlen(unit) > 1 && mark != ' ' && mark != '.');
}

const char *up_name_unit(up_units *units, const char *name, char *bare, size_t bare_size, char *unit,
                         size_t unit_size) {
    const char *how = in_brackets(name, bare, bare_size, unit, unit_size);
    if (how != NULL) {
        const up_unit_meaning found = up_unit_look(units, unit);
        if (found.dimension != UP_DIMENSION_NONE || bare[0] != '\0') {
            return how;
        }
    }
    /* The last mark, whatever it is. */
    for (const char *at = name + strlen(name); at > name; at--) {
        const unsigned char c = (unsigned char)at[-1];
        if (isalnum(c) || c >= 0x80 || c == '%' || c == '^') {
            continue;
        }
        copy_trimmed(at, at + strlen(at), unit, unit_size);
        copy_trimmed(name, at - 1, bare, bare_size);
        size_t length = strlen(bare);
        while (length > 0 && strchr(" ;,:/|-_~=@*", bare[length - 1]) != NULL) {
            bare[--length] = '\0';
        }
        const int in = length > 3 && strcmp(bare + length - 3, " in") == 0;
        if (in) {
            bare[length - 3] = '\0';
        }
        if (unit[0] != '\0' && bare[0] != '\0' && is_believable(units, bare, unit, (char)c, in)) {
            return c == '/' ? "behind a slash" : "behind a mark in the name";
        }
        if (c != '/') { /* m/s has one inside */
            break;
        }
    }
    copy_trimmed(name, name + strlen(name), bare, bare_size);
    unit[0] = '\0';
    return NULL;
}
