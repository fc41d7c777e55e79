#include "io/write_file.h"

#include <errno.h>
#include <limits.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static const char suffix[] = ".XXXXXX";

/* The file itself where path is a symbolic link, so that the link survives; otherwise a copy. NULL: errno says why. */
static char *followed(const char *path) {
    char *real = realpath(path, NULL);
    return real != NULL || errno != ENOENT ? real : strdup(path);
}

static void forget(up_output *output) {
    free(output->path);
    free(output->temporary);
    *output = (up_output){0};
}

/* Rights as an ordinary new file would have, or those of the file that will be replaced. */
static int set_rights(int descriptor, const char *path) {
    struct stat old;
    mode_t mask = umask(0);
    umask(mask);
    return fchmod(descriptor, stat(path, &old) == 0 ? old.st_mode & 0777 : 0666 & ~mask);
}

int up_output_open(up_output *output, const char *path) {
    struct stat what;
    *output = (up_output){0};
    if (stat(path, &what) == 0 && !S_ISREG(what.st_mode)) {
        errno = S_ISDIR(what.st_mode) ? EISDIR : EINVAL;
        return -1;
    }
    output->path = followed(path);
    if (output->path == NULL) {
        return -1;
    }
    size_t length = strlen(output->path);
    output->temporary = malloc(length + sizeof suffix);
    if (output->temporary == NULL) {
        forget(output);
        errno = ENOMEM;
        return -1;
    }
    memcpy(output->temporary, output->path, length);
    memcpy(output->temporary + length, suffix, sizeof suffix);
    int descriptor = mkstemp(output->temporary);
    if (descriptor < 0) {
        int why = errno;
        forget(output);
        errno = why;
        return -1;
    }
    output->file = set_rights(descriptor, output->path) == 0 ? fdopen(descriptor, "wb") : NULL;
    if (output->file == NULL) {
        int why = errno;
        close(descriptor);
        unlink(output->temporary);
        forget(output);
        errno = why;
        return -1;
    }
    return 0;
}

int up_output_commit(up_output *output) {
    int written = fflush(output->file) == 0 && !ferror(output->file) && fsync(fileno(output->file)) == 0;
    int why = errno;
    if (fclose(output->file) != 0 && written) {
        why = errno;
        written = 0;
    }
    if (written && rename(output->temporary, output->path) != 0) {
        why = errno;
        written = 0;
    }
    if (!written) {
        unlink(output->temporary);
    }
    forget(output);
    errno = why;
    return written ? 0 : -1;
}

void up_output_abandon(up_output *output) {
    if (output->file != NULL) {
        fclose(output->file);
        unlink(output->temporary);
    }
    forget(output);
}

int up_write_file(const char *path, const void *data, size_t size) {
    up_output output;
    if (up_output_open(&output, path) != 0) {
        return -1;
    }
    if (fwrite(data, 1, size, output.file) != size) {
        int why = errno;
        up_output_abandon(&output);
        errno = why;
        return -1;
    }
    return up_output_commit(&output);
}
