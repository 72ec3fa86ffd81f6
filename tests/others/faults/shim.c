/* Makes chosen calls on files of a record fail, or write short. Compiled when a case needs it.
 *
 * FAULT_CALL  write, fsync, fdatasync, rename, open
 * FAULT_FILE  part of the file's path
 * FAULT_NTH   the first call that fails, from 1
 * FAULT_TIMES how many calls fail from then on; 0: all
 * FAULT_ERRNO number; 0 with write: half of the bytes are written and told as such
 * FAULT_MARK  a file that is made when the first call fails
 */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/syscall.h>
#include <sys/types.h>
#include <unistd.h>

static long seen;

static int wanted(const char *call, const char *path) {
    const char *named = getenv("FAULT_CALL"), *file = getenv("FAULT_FILE");
    if (!named || !file || strcmp(named, call) || !strstr(path, file)) return 0;
    long nth = atol(getenv("FAULT_NTH")), times = atol(getenv("FAULT_TIMES"));
    long now = __sync_add_and_fetch(&seen, 1);
    int fails = now >= nth && (times == 0 || now < nth + times);
    if (fails) {
        long mark = syscall(SYS_openat, AT_FDCWD, getenv("FAULT_MARK"), O_CREAT | O_WRONLY, 0600);
        syscall(SYS_close, mark);
    }
    return fails;
}

static const char *path_of(int fd, char *into, size_t size) {
    char link[64];
    snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
    ssize_t got = readlink(link, into, size - 1);
    into[got < 0 ? 0 : got] = 0;
    return into;
}

static int number(void) { return atoi(getenv("FAULT_ERRNO")); }

ssize_t write(int fd, const void *data, size_t count) {
    static ssize_t (*real)(int, const void *, size_t);
    char path[4096];
    if (!real) real = dlsym(RTLD_NEXT, "write");
    if (!wanted("write", path_of(fd, path, sizeof path))) return real(fd, data, count);
    if (number() == 0) return real(fd, data, count > 1 ? count / 2 : count);
    errno = number();
    return -1;
}

static int sync_or_fail(const char *name, int fd) {
    char path[4096];
    int (*real)(int) = dlsym(RTLD_NEXT, name);
    if (!wanted(name, path_of(fd, path, sizeof path))) return real(fd);
    errno = number();
    return -1;
}

int fsync(int fd) { return sync_or_fail("fsync", fd); }
int fdatasync(int fd) { return sync_or_fail("fdatasync", fd); }

int rename(const char *from, const char *to) {
    int (*real)(const char *, const char *) = dlsym(RTLD_NEXT, "rename");
    if (!wanted("rename", to)) return real(from, to);
    errno = number();
    return -1;
}

static int open_or_fail(const char *name, const char *path, int flags, mode_t mode) {
    int (*real)(const char *, int, ...) = dlsym(RTLD_NEXT, name);
    if (!wanted("open", path)) return real(path, flags, mode);
    errno = number();
    return -1;
}

#define OPEN(name)                                              \
    int name(const char *path, int flags, ...) {                \
        va_list rest;                                           \
        va_start(rest, flags);                                  \
        mode_t mode = (mode_t)va_arg(rest, int);                \
        va_end(rest);                                           \
        return open_or_fail(#name, path, flags, mode);          \
    }
OPEN(open)
OPEN(open64)
