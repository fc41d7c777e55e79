/* Threads that share a range of independent pieces of work.
 *
 * The work function is told which indices to do and writes its results by index, so the number of threads and the order
 * of the work cannot change a bit of the answer. Analysis takes workers handed in; NULL is always allowed and means the
 * caller's own thread. io/threads.h makes them from the system's threads. */
#ifndef UPSTOP_ANALYSIS_WORKERS_H
#define UPSTOP_ANALYSIS_WORKERS_H

/* Does the pieces first..end-1. Called from several threads at once, never twice for one index. */
typedef void up_work(void *context, int first, int end);

typedef struct up_workers up_workers;
struct up_workers {
    int threads; /* the caller's included, >= 1 */
    void (*run)(up_workers *self, int count, up_work *work, void *context);
};

/* Does pieces 0..count-1 and returns when all are done. Not to be called from inside a work function. */
static inline void up_share_work(up_workers *workers, int count, up_work *work, void *context) {
    if (workers) {
        workers->run(workers, count, work, context);
    } else if (count > 0) {
        work(context, 0, count);
    }
}

#endif
