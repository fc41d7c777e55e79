/* Geometry: the core says what does not fit together, this file says where in the sheet that stands. */
#include <stdio.h>

#include "core/door/check.h"
#include "io/sheet_reader.h"

/* Where the finding belongs; the regulator's line when the sheet leaves the entry out. */
static up_place place_of(const up_sheet *sheet, const up_door_finding *finding) {
    up_place place = {0, 0};
    if (finding->number >= 0) {
        place = sheet->number_place[finding->number];
    } else if (finding->choice >= 0) {
        place = sheet->choice_place[finding->choice];
    }
    return place.line > 0 ? place : sheet->choice_place[UP_CHOICE_family];
}

/* Findings whose numbers are not the entry's own value but something worked out from it. */
static const struct {
    up_door_finding_code code;
    const char *unit;
} worked_out[] = {
    {UP_FINDING_RAIL_TILTS, "rad"},
    {UP_FINDING_RING_TURNS_TOO_FAR, "turns"},
    {UP_FINDING_TOO_FEW_EDGES, "edges"},
    {UP_FINDING_TOO_FAST_EDGES, "edges/s"},
    {UP_FINDING_GLASS_JAMS, "1"},
    {UP_FINDING_DRAG_BELOW_ZERO, "N"},
    {UP_FINDING_DRAG_POINTS_NOT_RISING, "m"},
};

static const char *shown(const up_door_finding *finding, double si, char *out, size_t size) {
    for (size_t i = 0; i < sizeof worked_out / sizeof worked_out[0]; i++) {
        if (worked_out[i].code == finding->code) {
            return up_show_quantity(si, 0, worked_out[i].unit, out, size);
        }
    }
    return finding->number >= 0 ? up_show_number((up_number)finding->number, si, out, size)
                                : up_show_quantity(si, 0, "", out, size);
}

static void wanted_text(const up_door_finding *finding, char *out, size_t size) {
    char low[80], high[80];
    int has_low = !up_is_absent(finding->low), has_high = !up_is_absent(finding->high);
    shown(finding, finding->low, low, sizeof low);
    shown(finding, finding->high, high, sizeof high);
    if (has_low && has_high && finding->low == finding->high) {
        snprintf(out, size, "%s", low);
    } else if (has_low && has_high) {
        snprintf(out, size, "from %s to %s", low, high);
    } else if (has_low || has_high) {
        snprintf(out, size, "%s %s", has_low ? "at least" : "at most", has_low ? low : high);
    } else {
        snprintf(out, size, "parts that fit together");
    }
}

static void report(up_reader *reader, const up_door_finding *finding) {
    const up_sheet *sheet = reader->sheet;
    char value[80], found[UP_PHRASE_MAX], wanted[UP_PHRASE_MAX], mend[UP_PHRASE_MAX];
    const char *key = "", *how = "", *assumed = "";
    if (finding->number >= 0) {
        const up_entry_text *text = up_entry_text_of_number((up_number)finding->number);
        key = text->key;
        how = text->how;
        assumed = up_sheet_has_number(sheet, (up_number)finding->number) ? "" : " (the sheet leaves this entry out)";
    } else if (finding->choice >= 0) {
        key = up_entry_text_of_choice((up_choice)finding->choice)->key;
        how = up_entry_text_of_choice((up_choice)finding->choice)->how;
    }
    snprintf(found, sizeof found, "%s%s: %s", shown(finding, finding->found, value, sizeof value), assumed,
             up_door_finding_text(finding->code));
    wanted_text(finding, wanted, sizeof wanted);
    snprintf(mend, sizeof mend, "measure or count again%s%s", how[0] != '\0' ? ": " : "", how);
    up_findings_add(reader->findings, UP_FOUND_GEOMETRY,
                    up_door_finding_is_fatal(finding->code) ? UP_SEVERITY_ERROR : UP_SEVERITY_WARNING,
                    place_of(sheet, finding).line, place_of(sheet, finding).column, key, found, wanted, mend);
}

void up_check_door(up_reader *reader) {
    up_door_finding findings[UP_DOOR_FINDINGS_MAX];
    int count = up_door_check(&reader->sheet->known.values, findings, UP_DOOR_FINDINGS_MAX);
    for (int i = 0; i < count && i < UP_DOOR_FINDINGS_MAX; i++) {
        report(reader, &findings[i]);
    }
}
