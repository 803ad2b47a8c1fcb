/* The clock of the day as a file says: so many seconds beside the machine's own. Laid before libc with LD_PRELOAD. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/time.h>
#include <time.h>

static long beside(void) {
    const char *name = getenv("BESIDE_THE_CLOCK");
    FILE *file = name ? fopen(name, "r") : NULL;
    long seconds = 0;
    if (file) {
        if (fscanf(file, "%ld", &seconds) != 1) seconds = 0;
        fclose(file);
    }
    return seconds;
}

int clock_gettime(clockid_t clock, struct timespec *now) {
    static int (*real)(clockid_t, struct timespec *);
    if (!real) real = (int (*)(clockid_t, struct timespec *))dlsym(RTLD_NEXT, "clock_gettime");
    int answer = real(clock, now);
    if (answer == 0 && clock == CLOCK_REALTIME) now->tv_sec += beside();
    return answer;
}

int gettimeofday(struct timeval *restrict now, void *restrict zone) {
    (void)zone;
    struct timespec exact;
    int answer = clock_gettime(CLOCK_REALTIME, &exact);
    now->tv_sec = exact.tv_sec;
    now->tv_usec = exact.tv_nsec / 1000;
    return answer;
}

time_t time(time_t *into) {
    struct timespec exact;
    clock_gettime(CLOCK_REALTIME, &exact);
    if (into) *into = exact.tv_sec;
    return exact.tv_sec;
}
