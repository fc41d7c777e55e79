/* Whatever the bytes, the sheet reader comes back with a verdict, and the verdict agrees with what it filled in. */
#include <math.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include "core/door/check.h"
#include "io/sheet.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void require(int holds) {
    if (!holds) {
        abort();
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    static up_units units; /* reading the units database anew for each input would be most of the work */
    up_sheet sheet;
    up_findings findings = {0};
    int status = up_sheet_read_with(&units, (const char *)data, size, "fuzz", &sheet, &findings);
    require(status == 0 || status == 2);
    require((status == 0) == (findings.errors == 0));
    require(sheet.title != NULL && sheet.notes != NULL && sheet.path != NULL);
    for (int i = 0; i < findings.count; i++) {
        const up_finding *finding = &findings.item[i];
        require(finding->found[0] != '\0' && finding->expected[0] != '\0' && finding->mend[0] != '\0');
        require(finding->line >= 0 && (finding->line == 0) == (finding->column == 0));
    }
    if (status == 0) {
        require(up_door_is_usable(&sheet.known.values));
        for (int i = 0; i < UP_NUMBER_COUNT; i++) {
            require(isfinite(sheet.known.spread[i]) && sheet.known.spread[i] >= 0);
            require((int)sheet.known.mark[i] >= 0 && sheet.known.mark[i] < UP_MARK_COUNT);
        }
    }
    up_findings_free(&findings);
    up_sheet_free(&sheet);
    return 0;
}
