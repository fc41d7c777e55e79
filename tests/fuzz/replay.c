/* Runs saved inputs through a fuzzer's function in builds without libFuzzer: one call per file named on the command
 * line. */
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static int replay(const char *path) {
    FILE *file = fopen(path, "rb");
    if (file == NULL) {
        fprintf(stderr, "%s: cannot be opened\n", path);
        return 1;
    }
    size_t size = 0;
    size_t room = 0;
    uint8_t *data = NULL;
    int failed = 0;
    do {
        if (size == room) {
            room = room == 0 ? 4096 : 2 * room;
            uint8_t *larger = realloc(data, room);
            if (larger == NULL) {
                failed = 1;
                break;
            }
            data = larger;
        }
        size += fread(data + size, 1, room - size, file);
    } while (!feof(file) && !ferror(file));
    failed |= ferror(file);
    fclose(file);
    if (failed) {
        fprintf(stderr, "%s: cannot be read\n", path);
    } else {
        LLVMFuzzerTestOneInput(data, size);
    }
    free(data);
    return failed;
}

int main(int count, char **paths) {
    int failed = 0;
    if (count < 2) {
        fprintf(stderr, "usage: %s FILE...\n", paths[0]);
        return 2;
    }
    for (int i = 1; i < count; i++) {
        failed |= replay(paths[i]);
    }
    printf("%d inputs replayed\n", count - 1);
    return failed;
}
