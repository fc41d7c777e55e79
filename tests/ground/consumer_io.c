/* Somebody else's program: reads a door sheet with the installed upstop-io. */
#include <stdio.h>
#include <string.h>

#include "io/sheet.h"

int main(void) {
    static const char text[] = "format: 1\nregulator:\n  family: cable\nglass:\n  mass: 3.2 kg\n";
    up_sheet sheet;
    up_findings findings = {0};
    const int status = up_sheet_read_text(text, strlen(text), "a sheet", &sheet, &findings);
    up_findings_print(&findings, "a sheet", stderr);
    const double mass = sheet.known.values.glass_mass;
    up_sheet_free(&sheet);
    up_findings_free(&findings);
    if (status != 0 || !(mass > 3.199 && mass < 3.201)) {
        printf("status %d, glass of %g kg\n", status, mass);
        return 1;
    }
    return 0;
}
