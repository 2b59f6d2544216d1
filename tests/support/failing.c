/* Lets calls of the system fail as a disk does. The file named by FAILING_DISK holds, while calls are to fail, a line of
   "CALL ENDING NUMBER": calls of that kind on files whose names have that ending answer with that error. A sync that fails has
   written all the same, as it most often has. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <unistd.h>

static int failing(const char *call, const char *name) {
    const char *control = getenv("FAILING_DISK");
    if (!control || !name || !strcmp(name, control)) return 0;
    char line[256], what[32], ending[160];
    int number = 0;
    int file = (int)syscall(SYS_openat, AT_FDCWD, control, O_RDONLY);
    if (file < 0) return 0;
    long length = syscall(SYS_read, file, line, sizeof line - 1);
    syscall(SYS_close, file);
    if (length <= 0) return 0;
    line[length] = 0;
    char *at = line;
    for (char *next; at && *at; at = next) {
        next = strchr(at, '\n');
        if (next) *next++ = 0;
        if (sscanf(at, "%31s %159s %d", what, ending, &number) != 3 || strcmp(what, call)) continue;
        size_t whole = strlen(name), end = strlen(ending);
        if (whole >= end && !strcmp(name + whole - end, ending)) return number;
    }
    return 0;
}

static int failing_file(const char *call, int file) {
    char link[64], name[4096];
    snprintf(link, sizeof link, "/proc/self/fd/%d", file);
    long length = syscall(SYS_readlinkat, AT_FDCWD, link, name, sizeof name - 1);
    if (length <= 0) return 0;
    name[length] = 0;
    return failing(call, name);
}

#define REAL(name) ((__typeof__(&name))dlsym(RTLD_NEXT, #name))
#define FAIL(number) do { int n_ = (number); if (n_) { errno = n_; return -1; } } while (0)

int fsync(int file) { FAIL(failing_file("sync", file)); return REAL(fsync)(file); }
int fdatasync(int file) { FAIL(failing_file("sync", file)); return REAL(fdatasync)(file); }
ssize_t read(int file, void *to, size_t n) { FAIL(failing_file("read", file)); return REAL(read)(file, to, n); }
ssize_t pread(int file, void *to, size_t n, off_t at) { FAIL(failing_file("read", file)); return REAL(pread)(file, to, n, at); }
ssize_t pread64(int file, void *to, size_t n, off64_t at) { FAIL(failing_file("read", file)); return REAL(pread64)(file, to, n, at); }
ssize_t write(int file, const void *of, size_t n) { FAIL(failing_file("write", file)); return REAL(write)(file, of, n); }
ssize_t pwrite(int file, const void *of, size_t n, off_t at) { FAIL(failing_file("write", file)); return REAL(pwrite)(file, of, n, at); }
ssize_t pwrite64(int file, const void *of, size_t n, off64_t at) { FAIL(failing_file("write", file)); return REAL(pwrite64)(file, of, n, at); }
int stat(const char *name, struct stat *to) { FAIL(failing("stat", name)); return REAL(stat)(name, to); }
int stat64(const char *name, struct stat64 *to) { FAIL(failing("stat", name)); return REAL(stat64)(name, to); }
int fstat(int file, struct stat *to) { FAIL(failing_file("stat", file)); return REAL(fstat)(file, to); }
int fstat64(int file, struct stat64 *to) { FAIL(failing_file("stat", file)); return REAL(fstat64)(file, to); }
int statx(int folder, const char *name, int flags, unsigned int mask, struct statx *to) {
    /* Whether there is such a call is asked with no name, which the header says is never so. */
    const char *volatile given = name;
    const char *named = given;
    FAIL(named && *named ? failing("stat", named) : failing_file("stat", folder));
    return REAL(statx)(folder, name, flags, mask, to);
}
#define OPENED(real) \
    va_list more; va_start(more, flags); \
    mode_t mode = flags & (O_CREAT | O_TMPFILE) ? va_arg(more, mode_t) : 0; \
    va_end(more); \
    FAIL(failing("open", name)); \
    return REAL(real)(name, flags, mode);
int open(const char *name, int flags, ...) { OPENED(open) }
int open64(const char *name, int flags, ...) { OPENED(open64) }
