/* MAT files, by matio: every vector and every column of a matrix is a column, every single number a fact. */
#include <math.h>
#include <matio.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "io/recording/facts.h"
#include "io/recording/formats.h"

enum { DEPTH_MAX = 4 };

static double element(const matvar_t *variable, size_t i) {
    const void *data = variable->data;
    switch (variable->data_type) {
    case MAT_T_DOUBLE:
        return ((const double *)data)[i];
    case MAT_T_SINGLE:
        return (double)((const float *)data)[i];
    case MAT_T_INT8:
        return ((const int8_t *)data)[i];
    case MAT_T_UINT8:
        return ((const uint8_t *)data)[i];
    case MAT_T_INT16:
        return ((const int16_t *)data)[i];
    case MAT_T_UINT16:
        return ((const uint16_t *)data)[i];
    case MAT_T_INT32:
        return ((const int32_t *)data)[i];
    case MAT_T_UINT32:
        return ((const uint32_t *)data)[i];
    case MAT_T_INT64:
        return (double)((const int64_t *)data)[i];
    case MAT_T_UINT64:
        return (double)((const uint64_t *)data)[i];
    default:
        return NAN;
    }
}

/* Bytes of one number as it lies in memory; 0: none that is read here. */
static size_t size_of_type(enum matio_types type) {
    switch (type) {
    case MAT_T_INT8:
    case MAT_T_UINT8:
        return 1;
    case MAT_T_INT16:
    case MAT_T_UINT16:
        return 2;
    case MAT_T_INT32:
    case MAT_T_UINT32:
    case MAT_T_SINGLE:
        return 4;
    case MAT_T_INT64:
    case MAT_T_UINT64:
    case MAT_T_DOUBLE:
        return 8;
    default:
        return 0;
    }
}

/* Plain numbers in two dimensions, all of which are there: what a broken file says of itself is not believed. */
static int is_numeric(const matvar_t *variable) {
    const size_t size = size_of_type(variable->data_type);
    if (variable->class_type < MAT_C_DOUBLE || variable->class_type > MAT_C_UINT64 || variable->data == NULL ||
        variable->isComplex || variable->rank != 2 || size == 0 || (size_t)variable->data_size != size) {
        return 0;
    }
    const size_t rows = variable->dims[0], columns = variable->dims[1], most = variable->nbytes / size;
    return rows > 0 && columns > 0 && rows <= most / columns;
}

static int add_vector(up_draft *draft, const char *name, const matvar_t *variable, size_t from, size_t count) {
    char bare[UP_FACT_TEXT_MAX], unit[UP_COLUMN_UNIT_MAX];
    const char *how = up_name_unit(draft->units, name, bare, sizeof bare, unit, sizeof unit);
    up_column *column = up_column_add(draft, how != NULL ? bare : name, how != NULL ? unit : "", how);
    if (column == NULL) {
        return draft->recording->column == NULL ? 3 : 0;
    }
    column->value = malloc((count > 0 ? count : 1) * sizeof *column->value);
    if (column->value == NULL) {
        return 3;
    }
    for (size_t i = 0; i < count; i++) {
        column->value[i] = element(variable, from + i);
    }
    column->count = count;
    return 0;
}

static int add_numbers(up_draft *draft, const char *name, const matvar_t *variable) {
    const size_t rows = variable->dims[0], columns = variable->dims[1];
    int failed = 0;
    if (rows == 1 && columns == 1) {
        char text[40];
        snprintf(text, sizeof text, "%.15g", element(variable, 0));
        (void)up_fact_add(draft->recording, 0, 0, name, text, element(variable, 0), "", &failed);
        return failed ? 3 : 0;
    }
    if (rows == 1 || columns == 1) {
        return add_vector(draft, name, variable, 0, rows * columns);
    }
    int status = 0;
    for (size_t k = 0; k < columns && k < UP_COLUMNS_MAX && status == 0; k++) {
        char numbered[UP_FACT_TEXT_MAX];
        snprintf(numbered, sizeof numbered, "%.80s %zu", name, k + 1);
        status = add_vector(draft, numbered, variable, k * rows, rows);
    }
    return status;
}

/* Structures are walked into, a name in front of each member: "Measurement voltage". */
static int add_variable(up_draft *draft, const char *prefix, matvar_t *variable, int depth) {
    char name[UP_FACT_TEXT_MAX];
    const char *own = variable->name != NULL ? variable->name : "";
    int failed = 0;
    snprintf(name, sizeof name, "%.60s%s%.60s", prefix, prefix[0] != '\0' ? " " : "", own);
    name[UP_FACT_TEXT_MAX - 1] = '\0';
    if (variable->class_type == MAT_C_CHAR && variable->data != NULL && variable->data_type == MAT_T_UINT8) {
        char text[UP_FACT_TEXT_MAX];
        const size_t length = variable->nbytes < sizeof text - 1 ? variable->nbytes : sizeof text - 1;
        memcpy(text, variable->data, length);
        text[length] = '\0';
        (void)up_fact_add(draft->recording, 0, 0, name, text, NAN, "", &failed);
        return failed ? 3 : 0;
    }
    if (variable->class_type == MAT_C_STRUCT && depth < DEPTH_MAX && variable->rank == 2 &&
        variable->dims[0] * variable->dims[1] == 1) {
        const unsigned fields = Mat_VarGetNumberOfFields(variable);
        int status = 0;
        for (unsigned i = 0; i < fields && status == 0; i++) {
            matvar_t *field = Mat_VarGetStructFieldByIndex(variable, i, 0);
            status = field != NULL ? add_variable(draft, depth == 0 ? own : name, field, depth + 1) : 0;
        }
        return status;
    }
    return is_numeric(variable) ? add_numbers(draft, name, variable) : 0;
}

static double file_size(const char *path) {
    struct stat about;
    return stat(path, &about) == 0 ? (double)about.st_size : 0;
}

/* Deflate packs 1032 bytes into one at most (RFC 1951: 258 bytes by a code of two bits [memory]). A broken file must not make
 * the library ask for more memory than the file can fill. */
static int fits(matvar_t *variable, double bytes, int depth) {
    enum { PACKED_MOST = 1040, FIELDS_MOST = 1000 };
    double size = 1;
    if (variable->rank < 0 || variable->rank > 32 || depth > DEPTH_MAX ||
        (variable->rank > 0 && variable->dims == NULL)) {
        return 0;
    }
    for (int i = 0; i < variable->rank; i++) {
        size *= (double)variable->dims[i];
    }
    if (size > bytes * PACKED_MOST) {
        return 0;
    }
    if (variable->class_type == MAT_C_STRUCT) {
        matvar_t **fields = variable->data;
        const unsigned count = Mat_VarGetNumberOfFields(variable);
        if (size != 1 || count > FIELDS_MOST) { /* of lists of structures nothing is used */
            return 0;
        }
        for (unsigned i = 0; fields != NULL && i < count; i++) {
            if (fields[i] != NULL && !fits(fields[i], bytes, depth + 1)) {
                return 0;
            }
        }
    }
    return 1;
}

/* Numbers, words and single structures; cells, functions and lists of structures are passed over unread. */
static int is_of_use(const matvar_t *variable) {
    const int plain = variable->rank == 2 && variable->dims != NULL;
    const int numbers = variable->class_type >= MAT_C_DOUBLE && variable->class_type <= MAT_C_UINT64;
    return plain && (numbers || variable->class_type == MAT_C_CHAR ||
                     (variable->class_type == MAT_C_STRUCT && variable->dims[0] == 1 && variable->dims[1] == 1));
}

static uint32_t word_at(const unsigned char *bytes, int swapped) {
    const uint32_t b0 = bytes[0], b1 = bytes[1], b2 = bytes[2], b3 = bytes[3];
    return swapped ? b0 << 24 | b1 << 16 | b2 << 8 | b3 : b3 << 24 | b2 << 16 | b1 << 8 | b0;
}

/* The library hands out whatever lies in memory for numbers that a file cut off no longer has. Version 5 is a header of 128
 * bytes and then elements, each with its type and its length in bytes in front ("MAT-File Format", The MathWorks, level 5
 * [memory]). Returns where the first of them begins that reaches beyond the end, 0 when there is none, or another version. */
static long cut_off_at(const char *path, double size) {
    enum { HEADER = 128, MARK = 126 };
    unsigned char header[HEADER], tag[8];
    FILE *file = fopen(path, "rb");
    long at = 0, cut = 0;
    if (file != NULL && fread(header, 1, sizeof header, file) == sizeof header &&
        memcmp(header, "MATLAB 5.0", 10) == 0) {
        const int swapped = header[MARK] == 'M';
        at = HEADER;
        while (cut == 0 && fread(tag, 1, sizeof tag, file) == sizeof tag) {
            const uint32_t length = word_at(tag + 4, swapped);
            if ((double)at + 8 + (double)length > size) {
                cut = at;
            } else {
                at += 8 + (long)length;
                cut = fseek(file, at, SEEK_SET) != 0 ? at : 0;
            }
        }
        cut = cut == 0 && (double)at < size ? at : cut;
    }
    if (file != NULL) {
        fclose(file);
    }
    return cut;
}

int up_recording_mat(up_draft *draft, const char *path) {
    const double bytes = file_size(path);
    const long cut = cut_off_at(path, bytes);
    if (cut > 0) {
        char found[UP_NOTE_TEXT_MAX];
        snprintf(found, sizeof found, "a MAT file of %.0f bytes, whose element at byte %ld is longer than that", bytes,
                 cut);
        return up_problem_set(draft->problem, 0, 0, found, "a whole MAT file", "it is cut off: copy or save it again");
    }
    (void)Mat_LogInitFunc("upstop", NULL); /* the library prints nothing by itself */
    mat_t *file = Mat_Open(path, MAT_ACC_RDONLY);
    if (file == NULL) {
        return up_problem_set(draft->problem, 0, 0, "a MAT file that cannot be opened",
                              "a MAT file of version 4, 5 or 7.3", "save it again, or export the samples as CSV");
    }
    int status = 0;
    matvar_t *variable;
    while (status == 0 && (variable = Mat_VarReadNextInfo(file)) != NULL) {
        if (!is_of_use(variable)) {
            Mat_VarFree(variable);
            continue;
        }
        if (!fits(variable, bytes, 0)) {
            status = up_problem_set(draft->problem, 0, 0, "a vector that is larger than the whole MAT file",
                                    "a file that holds what it lists", "the file is damaged: save it again");
        } else if (Mat_VarReadDataAll(file, variable) == 0) {
            status = add_variable(draft, "", variable, 0);
        } else {
            char found[UP_NOTE_TEXT_MAX];
            snprintf(found, sizeof found, "the variable \"%.60s\", which cannot be read",
                     variable->name != NULL ? variable->name : "");
            status = up_problem_set(draft->problem, 0, 0, found, "numbers, words or a structure of them",
                                    "the file is damaged or cut off: save it again");
        }
        Mat_VarFree(variable);
    }
    Mat_Close(file);
    if (status == 0 && draft->recording->column_count == 0) {
        return up_problem_set(draft->problem, 0, 0, "no vector of numbers in the MAT file", "a vector for each channel",
                              "save time and channels as plain vectors of equal length");
    }
    return status == 0 ? up_draft_finish(draft) : status;
}
