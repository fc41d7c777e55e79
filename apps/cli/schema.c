/* upstop schema: the sheet described for editors and for the documentation. */
#include <stdio.h>

#include "apps/cli/command.h"
#include "io/schema.h"

int up_command_schema(int argc, char **argv) {
    int table = 0;
    const up_option options[] = {
        {"table", NULL, "print the tables of docs/sheet-format.md instead, in Markdown", &table, NULL},
    };
    const up_usage usage = {
        "schema",
        "",
        "Prints the JSON Schema (draft 7) of the door sheet, so that an editor can complete and check it.\n"
        "Units and bounds of values with a unit are held by upstop check.\n",
        options,
        sizeof options / sizeof options[0],
        0,
        0};
    up_arguments arguments;
    int status = up_cli_arguments(&usage, argc, argv, &arguments);
    if (status >= 0) {
        return status;
    }
    if (table) {
        up_entry_table_write(stdout);
    } else if (up_schema_write(stdout) != 0) {
        fprintf(stderr, "upstop schema: the schema cannot be written\n");
        return UP_EXIT_INTERNAL;
    }
    return up_cli_finish(UP_EXIT_OK);
}
