/* Files appear whole or not at all (POSIX.1-2017, rename(): the old file stays until the new one takes its place). */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <dirent.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "io/write_file.h"

enum { PATH_ROOM = 4096 };

static char folder[PATH_ROOM - 64];

static int make_folder(void **state) {
    const char *scratch = getenv("TMPDIR");
    (void)state;
    snprintf(folder, sizeof folder, "%s/write-file-XXXXXX", scratch != NULL ? scratch : "/tmp");
    return mkdtemp(folder) == NULL;
}

static int files_in_folder(void) {
    int count = 0;
    DIR *directory = opendir(folder);
    assert_non_null(directory);
    for (struct dirent *entry; (entry = readdir(directory)) != NULL;) {
        count += entry->d_name[0] != '.';
    }
    closedir(directory);
    return count;
}

static char *path_of(const char *name, char path[PATH_ROOM]) {
    snprintf(path, PATH_ROOM, "%s/%s", folder, name);
    return path;
}

static void assert_holds(const char *path, const char *text) {
    char buffer[64] = "";
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    size_t length = fread(buffer, 1, sizeof buffer - 1, file);
    fclose(file);
    buffer[length] = '\0';
    assert_string_equal(buffer, text);
}

static void the_old_file_stays_until_the_commit(void **state) {
    char path[PATH_ROOM];
    up_output output;
    (void)state;
    assert_int_equal(up_write_file(path_of("a", path), "old", 3), 0);
    assert_int_equal(up_output_open(&output, path), 0);
    fputs("new", output.file);
    fflush(output.file);
    assert_holds(path, "old");
    assert_int_equal(up_output_commit(&output), 0);
    assert_holds(path, "new");
    assert_int_equal(files_in_folder(), 1);
}

static void what_is_abandoned_leaves_nothing(void **state) {
    char path[PATH_ROOM];
    up_output output;
    (void)state;
    assert_int_equal(up_output_open(&output, path_of("b", path)), 0);
    fputs("half", output.file);
    up_output_abandon(&output);
    up_output_abandon(&output);
    assert_int_equal(access(path, F_OK), -1);
    assert_int_equal(files_in_folder(), 1);
}

static void a_link_is_followed_and_rights_are_kept(void **state) {
    char path[PATH_ROOM], link_path[PATH_ROOM];
    struct stat what;
    (void)state;
    assert_int_equal(chmod(path_of("a", path), 0640), 0);
    assert_int_equal(symlink(path, path_of("link", link_path)), 0);
    assert_int_equal(up_write_file(link_path, "linked", 6), 0);
    assert_holds(path, "linked");
    assert_int_equal(lstat(link_path, &what), 0);
    assert_true(S_ISLNK(what.st_mode));
    assert_int_equal(stat(path, &what), 0);
    assert_int_equal(what.st_mode & 0777, 0640);
    unlink(link_path);
}

static void places_that_take_no_file_are_refused(void **state) {
    char path[PATH_ROOM];
    (void)state;
    assert_int_equal(up_write_file(folder, "x", 1), -1);
    assert_int_equal(errno, EISDIR);
    assert_int_equal(up_write_file(path_of("nowhere/x", path), "x", 1), -1);
    assert_int_equal(errno, ENOENT);
    assert_int_equal(files_in_folder(), 1);
}

static int remove_folder(void **state) {
    char path[PATH_ROOM];
    (void)state;
    unlink(path_of("a", path));
    return rmdir(folder);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_old_file_stays_until_the_commit),
        cmocka_unit_test(what_is_abandoned_leaves_nothing),
        cmocka_unit_test(a_link_is_followed_and_rights_are_kept),
        cmocka_unit_test(places_that_take_no_file_are_refused),
    };
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
