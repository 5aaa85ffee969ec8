/*
 * Lets the n-th write to a database file fail: preloaded into the program (LD_PRELOAD), told by a shared page.
 *
 * FAILING_WRITES names a file of one page: whoever checks writes there which call shall fail, and reads how many came.
 * Calls on files whose path holds FAILING_WRITES_OF are counted: write, pwrite, fsync, fdatasync, ftruncate. What fails
 * gives EIO where the disk was to be asked (fsync) and ENOSPC else, as a disk does that is broken or full.
 */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <stdatomic.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <unistd.h>

/* Same places as in failing.py. */
struct page {
    _Atomic uint64_t counted;
    _Atomic uint64_t fails_at;  /* 0: none */
    _Atomic uint64_t lasting;   /* 1: and every one after it */
    _Atomic uint64_t failed;
};

static struct page *page;
static const char *of;

__attribute__((constructor)) static void begin(void) {
    const char *path = getenv("FAILING_WRITES");
    of = getenv("FAILING_WRITES_OF");
    int file = path && of ? open(path, O_RDWR) : -1;
    if (file < 0) return;
    void *there = mmap(NULL, sizeof(struct page), PROT_READ | PROT_WRITE, MAP_SHARED, file, 0);
    close(file);
    if (there != MAP_FAILED) page = there;
}

static int is_watched(int file) {
    char link[64], path[4096];
    snprintf(link, sizeof link, "/proc/self/fd/%d", file);
    ssize_t length = readlink(link, path, sizeof path - 1);
    if (length <= 0) return 0;
    path[length] = 0;
    return strstr(path, of) != NULL;
}

static int fails(int file) {
    if (!page || !is_watched(file)) return 0;
    uint64_t now = atomic_fetch_add(&page->counted, 1) + 1;
    uint64_t at = atomic_load(&page->fails_at);
    int hit = at && (now == at || (now > at && atomic_load(&page->lasting)));
    if (hit) atomic_fetch_add(&page->failed, 1);
    return hit;
}

#define REAL(result, name, ...) \
    static result (*real)(__VA_ARGS__); \
    if (!real) real = (result (*)(__VA_ARGS__))dlsym(RTLD_NEXT, name)

#define FAIL(code) \
    do { errno = code; return -1; } while (0)

ssize_t write(int file, const void *bytes, size_t count) {
    REAL(ssize_t, "write", int, const void *, size_t);
    if (fails(file)) FAIL(ENOSPC);
    return real(file, bytes, count);
}

ssize_t pwrite64(int file, const void *bytes, size_t count, off64_t at) {
    REAL(ssize_t, "pwrite64", int, const void *, size_t, off64_t);
    if (fails(file)) FAIL(ENOSPC);
    return real(file, bytes, count, at);
}

ssize_t pwrite(int file, const void *bytes, size_t count, off_t at) {
    REAL(ssize_t, "pwrite", int, const void *, size_t, off_t);
    if (fails(file)) FAIL(ENOSPC);
    return real(file, bytes, count, at);
}

int fsync(int file) {
    REAL(int, "fsync", int);
    if (fails(file)) FAIL(EIO);
    return real(file);
}

int fdatasync(int file) {
    REAL(int, "fdatasync", int);
    if (fails(file)) FAIL(EIO);
    return real(file);
}

int ftruncate64(int file, off64_t length) {
    REAL(int, "ftruncate64", int, off64_t);
    if (fails(file)) FAIL(ENOSPC);
    return real(file, length);
}

int ftruncate(int file, off_t length) {
    REAL(int, "ftruncate", int, off_t);
    if (fails(file)) FAIL(ENOSPC);
    return real(file, length);
}
