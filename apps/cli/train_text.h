/* The answers of `upstop train` for people, at most 100 columns wide. */
#ifndef UPSTOP_CLI_TRAIN_TEXT_H
#define UPSTOP_CLI_TRAIN_TEXT_H

#include <stdio.h>

#include "analysis/train.h"
#include "io/sheet.h"

/* places: 1: the stages at bottom and top too. */
void up_train_print_text(const up_sheet *sheet, const up_train *train, int places, FILE *out);

#endif
