/* upstop vary: many closings of many doors on many days. */
#include <locale.h>
#include <unistd.h>

#include "apps/cli/command.h"
#include "apps/cli/vary_run.h"
#include "io/threads.h"

int up_command_vary(int argc, char **argv) {
    up_vary vary;
    setlocale(LC_CTYPE, "");
    int status = up_vary_read("upstop vary", argc, argv, &vary);
    if (status >= 0) {
        return status;
    }
    vary.progress |= isatty(STDERR_FILENO);
    up_workers *const workers = up_threads_start(vary.threads);
    up_thread_crew crew = up_thread_crew_of("upstop vary", workers);
    status = up_vary_do(&vary, &crew.crew);
    up_threads_stop(workers);
    return status;
}
