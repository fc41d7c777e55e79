/* What commands that read and write files share. */
#ifndef UPSTOP_APPS_CLI_FILES_H
#define UPSTOP_APPS_CLI_FILES_H

/* 1 when both names mean the same file, by name or by a link. */
int up_cli_same_file(const char *a, const char *b);

/* The text of a door sheet, ended by a NUL, as far as a sheet may be long; the caller frees it. NULL, with errno set where
 * the system knows why, when it cannot be read. */
char *up_cli_read_whole(const char *path);

#endif
