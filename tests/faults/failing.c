/* Makes the disk fail: preloaded into a program, it lets calls that write a register's files fail,
   or kills the program in their place. Nothing fails before `arm` is called. */

#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <sys/types.h>
#include <unistd.h>

enum { WRITE = 1, SYNC = 2, TRUNCATE = 4, READ = 8 };

static int kinds, spared, failing, wrong, seen;

/* From now on: of these kinds of call on a register's files the first `before` succeed, then
   `many` fail with the error `error`; with none, the program dies at the first. */
void arm(int which, int before, int many, int error) {
    kinds = which, spared = before, failing = many, wrong = error, seen = 0;
}

int calls(void) { return seen; }

static int fails(int kind, int fd) {
    char link[40], path[4096];
    if (!(kinds & kind)) return 0;
    snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
    ssize_t length = readlink(link, path, sizeof path - 1);
    if (length < 0) return 0;
    path[length] = 0;
    if (!strstr(path, "register.db")) return 0;
    seen++;
    if (spared > 0) { spared--; return 0; }
    if (failing <= 0) return 0;
    failing--;
    if (!wrong) raise(SIGKILL);
    errno = wrong;
    return 1;
}

#define REAL(name) __typeof__(&name) real = (__typeof__(&name)) dlsym(RTLD_NEXT, #name)

ssize_t pwrite(int fd, const void *data, size_t length, off_t at) {
    REAL(pwrite);
    return fails(WRITE, fd) ? -1 : real(fd, data, length, at);
}

ssize_t pwrite64(int fd, const void *data, size_t length, off64_t at) {
    REAL(pwrite64);
    return fails(WRITE, fd) ? -1 : real(fd, data, length, at);
}

ssize_t write(int fd, const void *data, size_t length) {
    REAL(write);
    return fails(WRITE, fd) ? -1 : real(fd, data, length);
}

ssize_t pread(int fd, void *data, size_t length, off_t at) {
    REAL(pread);
    return fails(READ, fd) ? -1 : real(fd, data, length, at);
}

ssize_t pread64(int fd, void *data, size_t length, off64_t at) {
    REAL(pread64);
    return fails(READ, fd) ? -1 : real(fd, data, length, at);
}

ssize_t read(int fd, void *data, size_t length) {
    REAL(read);
    return fails(READ, fd) ? -1 : real(fd, data, length);
}

int fsync(int fd) {
    REAL(fsync);
    return fails(SYNC, fd) ? -1 : real(fd);
}

int fdatasync(int fd) {
    REAL(fdatasync);
    return fails(SYNC, fd) ? -1 : real(fd);
}

int ftruncate(int fd, off_t length) {
    REAL(ftruncate);
    return fails(TRUNCATE, fd) ? -1 : real(fd, length);
}

int ftruncate64(int fd, off64_t length) {
    REAL(ftruncate64);
    return fails(TRUNCATE, fd) ? -1 : real(fd, length);
}
