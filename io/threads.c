#include "io/threads.h"

#include <pthread.h>
#include <stdlib.h>
#include <unistd.h>

/* Pieces are handed out in portions: a few for each thread, so that one slow piece does not leave the others idle. */
enum { PORTIONS_PER_THREAD = 8 };

typedef struct crew {
    up_workers workers; /* first: the handle given out */
    pthread_mutex_t lock;
    pthread_cond_t begin, done;
    /* under lock */
    up_work *work;
    void *context;
    int count, next, portion; /* pieces of the job, first not yet handed out, pieces in a portion */
    int busy;                 /* threads that hold a portion                                      */
    int ending;
    pthread_t thread[]; /* workers.threads - 1                                              */
} crew;

/* Takes portions until none is left. Called and left with the lock held. */
static void take_portions(crew *c) {
    while (c->next < c->count) {
        const int first = c->next;
        const int end = c->count - first < c->portion ? c->count : first + c->portion;
        up_work *const work = c->work;
        void *const context = c->context;
        c->next = end;
        c->busy++;
        pthread_mutex_unlock(&c->lock);
        work(context, first, end);
        pthread_mutex_lock(&c->lock);
        c->busy--;
    }
    if (c->busy == 0) {
        pthread_cond_broadcast(&c->done);
    }
}

static void *serve(void *argument) {
    crew *const c = argument;
    pthread_mutex_lock(&c->lock);
    while (!c->ending) {
        take_portions(c);
        if (!c->ending && c->next >= c->count) {
            pthread_cond_wait(&c->begin, &c->lock);
        }
    }
    pthread_mutex_unlock(&c->lock);
    return NULL;
}

static void run(up_workers *self, int count, up_work *work, void *context) {
    crew *const c = (crew *)(void *)self;
    if (count <= 0) {
        return;
    }
    pthread_mutex_lock(&c->lock);
    c->work = work;
    c->context = context;
    c->count = count;
    c->next = 0;
    c->portion = count / (self->threads * PORTIONS_PER_THREAD);
    if (c->portion < 1) {
        c->portion = 1;
    }
    pthread_cond_broadcast(&c->begin);
    take_portions(c);
    while (c->busy > 0) {
        pthread_cond_wait(&c->done, &c->lock);
    }
    pthread_mutex_unlock(&c->lock);
}

up_workers *up_threads_start(int threads) {
    if (threads < 1) {
        return NULL;
    }
    crew *const c = calloc(1, sizeof *c + (size_t)(threads - 1) * sizeof c->thread[0]);
    if (!c) {
        return NULL;
    }
    c->workers.run = run;
    c->workers.threads = 1;
    if (pthread_mutex_init(&c->lock, NULL) || pthread_cond_init(&c->begin, NULL) || pthread_cond_init(&c->done, NULL)) {
        free(c);
        return NULL;
    }
    while (c->workers.threads < threads && pthread_create(&c->thread[c->workers.threads - 1], NULL, serve, c) == 0) {
        c->workers.threads++;
    }
    return &c->workers;
}

void up_threads_stop(up_workers *workers) {
    if (!workers) {
        return;
    }
    crew *const c = (crew *)(void *)workers;
    pthread_mutex_lock(&c->lock);
    c->ending = 1;
    pthread_cond_broadcast(&c->begin);
    pthread_mutex_unlock(&c->lock);
    for (int i = 0; i < workers->threads - 1; i++) {
        pthread_join(c->thread[i], NULL);
    }
    pthread_cond_destroy(&c->done);
    pthread_cond_destroy(&c->begin);
    pthread_mutex_destroy(&c->lock);
    free(c);
}

int up_threads_available(void) {
    const long found = sysconf(_SC_NPROCESSORS_ONLN);
    return found < 1 ? 1 : found > 1024 ? 1024 : (int)found;
}
