/* Stands between a process and the C library (LD_PRELOAD): writes, syncs, openings and looks at files
 * below one folder fail or hang as told. Whoever calls (SQLite, Python) cannot tell it from a disk. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <stdarg.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/statvfs.h>
#include <sys/syscall.h>
#include <sys/types.h>
#include <unistd.h>

enum { WRITES = 1, SYNCS = 2, OPENINGS = 4, LOOKS = 8 };

static char folder[4096], spared[64], last_on_main[4096];
static atomic_long seen, first = -1, end = -1, on_main;
static atomic_int kinds, error_code, held;

/* Files below this folder are meant, but for those whose name ends in `sparing`. */
void disk_watch(const char *below, const char *sparing) {
    snprintf(folder, sizeof folder, "%s", below);
    snprintf(spared, sizeof spared, "%s", sparing);
    seen = on_main = 0;
    first = end = -1;
    held = 0;
}

/* Of what happens from now on, numbers `from` to `until` (not itself) of these kinds fail. */
void disk_fail(int which, int code, long from, long until) {
    seen = 0;
    kinds = which;
    error_code = code;
    first = from;
    end = until;
}

void disk_hold(int on) { held = on; }
long disk_seen(void) { return seen; }
long disk_on_main(void) { return on_main; }
const char *disk_last_on_main(void) { return last_on_main; }

static int is_meant(const char *path) {
    size_t length = strlen(folder), all = strlen(path), end_length = strlen(spared);
    if (!length || strncmp(path, folder, length)) return 0;
    return !end_length || all < end_length || strcmp(path + all - end_length, spared);
}

static int fails(const char *path, int kind) {
    if (!is_meant(path)) return 0;
    if (syscall(SYS_gettid) == getpid()) {
        on_main++;
        snprintf(last_on_main, sizeof last_on_main, "%s", path);
    }
    while (held) usleep(1000);
    if (!(kind & kinds)) return 0;
    long number = seen++;
    if (number < first || number >= end) return 0;
    errno = error_code;
    return 1;
}

static int file_fails(int file, int kind) {
    int before = errno;
    char link[64], path[4096];
    snprintf(link, sizeof link, "/proc/self/fd/%d", file);
    ssize_t length = readlink(link, path, sizeof path - 1);
    errno = before;
    if (length < 0) return 0;
    path[length] = 0;
    return fails(path, kind);
}

#define REAL(type, name, ...) \
    static type (*real)(__VA_ARGS__); \
    if (!real) real = (type(*)(__VA_ARGS__))dlsym(RTLD_NEXT, name)

ssize_t write(int file, const void *data, size_t size) {
    REAL(ssize_t, "write", int, const void *, size_t);
    return file_fails(file, WRITES) ? -1 : real(file, data, size);
}

ssize_t pwrite(int file, const void *data, size_t size, off_t at) {
    REAL(ssize_t, "pwrite", int, const void *, size_t, off_t);
    return file_fails(file, WRITES) ? -1 : real(file, data, size, at);
}

ssize_t pwrite64(int file, const void *data, size_t size, off64_t at) {
    REAL(ssize_t, "pwrite64", int, const void *, size_t, off64_t);
    return file_fails(file, WRITES) ? -1 : real(file, data, size, at);
}

int fsync(int file) {
    REAL(int, "fsync", int);
    return file_fails(file, SYNCS) ? -1 : real(file);
}

int fdatasync(int file) {
    REAL(int, "fdatasync", int);
    return file_fails(file, SYNCS) ? -1 : real(file);
}

int ftruncate(int file, off_t size) {
    REAL(int, "ftruncate", int, off_t);
    return file_fails(file, WRITES) ? -1 : real(file, size);
}

int ftruncate64(int file, off64_t size) {
    REAL(int, "ftruncate64", int, off64_t);
    return file_fails(file, WRITES) ? -1 : real(file, size);
}

int posix_fallocate(int file, off_t at, off_t size) {
    REAL(int, "posix_fallocate", int, off_t, off_t);
    return file_fails(file, WRITES) ? errno : real(file, at, size);
}

int posix_fallocate64(int file, off64_t at, off64_t size) {
    REAL(int, "posix_fallocate64", int, off64_t, off64_t);
    return file_fails(file, WRITES) ? errno : real(file, at, size);
}

static int opening_fails(int at, const char *path, int flags) {
    if (at != AT_FDCWD || path[0] != '/') return 0;
    return fails(path, (flags & O_ACCMODE) == O_RDONLY ? LOOKS : OPENINGS);
}

#define OPEN(name) \
    int name(const char *path, int flags, ...) { \
        REAL(int, #name, const char *, int, ...); \
        va_list more; \
        va_start(more, flags); \
        mode_t mode = flags & (O_CREAT | O_TMPFILE) ? va_arg(more, mode_t) : 0; \
        va_end(more); \
        return opening_fails(AT_FDCWD, path, flags) ? -1 : real(path, flags, mode); \
    }

OPEN(open)
OPEN(open64)

#define LOOK(name, type) \
    int name(const char *path, type *found) { \
        REAL(int, #name, const char *, type *); \
        return path[0] == '/' && fails(path, LOOKS) ? -1 : real(path, found); \
    }

LOOK(stat, struct stat)
LOOK(lstat, struct stat)
LOOK(stat64, struct stat64)
LOOK(lstat64, struct stat64)
LOOK(statvfs, struct statvfs)
LOOK(statvfs64, struct statvfs64)

int rename(const char *from, const char *to) {
    REAL(int, "rename", const char *, const char *);
    return from[0] == '/' && fails(from, OPENINGS) ? -1 : real(from, to);
}

int mkdir(const char *path, mode_t mode) {
    REAL(int, "mkdir", const char *, mode_t);
    return path[0] == '/' && fails(path, OPENINGS) ? -1 : real(path, mode);
}

int unlink(const char *path) {
    REAL(int, "unlink", const char *);
    return path[0] == '/' && fails(path, OPENINGS) ? -1 : real(path);
}
