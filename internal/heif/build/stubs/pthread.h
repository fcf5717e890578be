/* Threads for a module that has none: locks always succeed, and no thread can
 * be started. dav1d is run with one thread, which asks for no more. */
#ifndef STUB_PTHREAD_H
#define STUB_PTHREAD_H

#include <stddef.h>

typedef int pthread_attr_t;
typedef int pthread_cond_t;
typedef int pthread_mutex_t;
typedef int pthread_once_t;
typedef int pthread_t;

#define PTHREAD_MUTEX_INITIALIZER 0
#define PTHREAD_ONCE_INIT 0

static inline int pthread_attr_init(pthread_attr_t *a) { *a = 0; return 0; }
static inline int pthread_attr_destroy(pthread_attr_t *a) { (void) a; return 0; }
static inline int pthread_attr_setstacksize(pthread_attr_t *a, size_t n) { (void) a; (void) n; return 0; }
static inline int pthread_mutex_init(pthread_mutex_t *m, const void *a) { (void) a; *m = 0; return 0; }
static inline int pthread_mutex_destroy(pthread_mutex_t *m) { (void) m; return 0; }
static inline int pthread_mutex_lock(pthread_mutex_t *m) { (void) m; return 0; }
static inline int pthread_mutex_unlock(pthread_mutex_t *m) { (void) m; return 0; }
static inline int pthread_cond_init(pthread_cond_t *c, const void *a) { (void) a; *c = 0; return 0; }
static inline int pthread_cond_destroy(pthread_cond_t *c) { (void) c; return 0; }
static inline int pthread_cond_signal(pthread_cond_t *c) { (void) c; return 0; }
static inline int pthread_cond_broadcast(pthread_cond_t *c) { (void) c; return 0; }
/* To wait for another thread where there is none would be for ever: stop. */
static inline int pthread_cond_wait(pthread_cond_t *c, pthread_mutex_t *m) { (void) c; (void) m; __builtin_trap(); }
static inline int pthread_create(pthread_t *t, const pthread_attr_t *a, void *(*f)(void *), void *x) {
    (void) t; (void) a; (void) f; (void) x;
    return 1;
}
static inline int pthread_join(pthread_t t, void **r) { (void) t; (void) r; return 1; }
static inline int pthread_once(pthread_once_t *o, void (*f)(void)) {
    if (!*o) { *o = 1; f(); }
    return 0;
}

#endif
