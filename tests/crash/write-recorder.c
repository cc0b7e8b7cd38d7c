/*
 * Loaded in front of a program (LD_PRELOAD), it writes down every change that the program makes below one folder, in
 * order and with its bytes, and every sync. Names come from RECORD_FOLDER (absolute, no trailing slash) and RECORD_LOG.
 * With RECORD_FAIL=n the nth write or sync is not carried out and fails with EIO.
 *
 * One event is: operation, length of path, length of data (each 32 bits), offset (64 bits), path, data; in the byte
 * order of the machine. Nothing here is mapped memory: SQLite maps the -shm file only, which any opening makes anew.
 */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <pthread.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/uio.h>
#include <unistd.h>

enum { CREATE = 1, WRITE = 2, TRUNCATE = 3, SYNC = 4, UNLINK = 5, RENAME = 6, MAKE_FOLDER = 7 };
enum { MOST_FILES = 4096 };

static char *paths[MOST_FILES];
static const char *folder;
static int log_file = -1;
static long fail_at;
static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER;

__attribute__((constructor)) static void begin(void) {
  const char *name = getenv("RECORD_LOG");
  const char *fail = getenv("RECORD_FAIL");
  folder = getenv("RECORD_FOLDER");
  fail_at = fail ? atol(fail) : 0;
  if (name && folder) log_file = (int)syscall(SYS_openat, AT_FDCWD, name, O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0600);
}

static void real(void **function, const char *name) {
  if (!*function) *function = dlsym(RTLD_NEXT, name);
}
#define REAL(type, name, ...)          \
  static type (*next)(__VA_ARGS__);    \
  real((void **)&next, name)

static int watched(const char *path) {
  if (log_file < 0 || !path) return 0;
  size_t length = strlen(folder);
  return strncmp(path, folder, length) == 0 && (path[length] == '/' || path[length] == 0);
}

static const char *path_of(int fd) { return fd >= 0 && fd < MOST_FILES ? paths[fd] : NULL; }

static void record(uint32_t operation, const char *path, uint64_t offset, const void *data, uint32_t bytes) {
  struct {
    uint32_t operation, path_bytes, data_bytes;
    uint64_t offset;
  } __attribute__((packed)) head = {operation, (uint32_t)strlen(path), bytes, offset};
  struct iovec parts[3] = {{&head, sizeof head}, {(void *)path, head.path_bytes}, {(void *)data, bytes}};
  pthread_mutex_lock(&lock);
  ssize_t done = syscall(SYS_writev, log_file, parts, 3);
  pthread_mutex_unlock(&lock);
  if (done != (ssize_t)(sizeof head + head.path_bytes + bytes)) abort();
}

/* Whether the next write or sync of a watched file is the one that has to fail. */
static int fails(void) {
  if (fail_at <= 0 || --fail_at != 0) return 0;
  errno = EIO;
  return 1;
}

static int opened(int fd, const char *path, int existed, int flags) {
  if (fd < 0 || !watched(path) || fd >= MOST_FILES) return fd;
  free(paths[fd]);
  paths[fd] = strdup(path);
  if (!existed) record(CREATE, path, 0, NULL, 0);
  else if (flags & O_TRUNC) record(TRUNCATE, path, 0, NULL, 0);
  return fd;
}

static int exists(const char *path) {
  struct stat found;
  return stat(path, &found) == 0;
}

#define OPEN(name)                                                  \
  int name(const char *path, int flags, ...) {                      \
    REAL(int, #name, const char *, int, ...);                       \
    va_list more;                                                   \
    va_start(more, flags);                                          \
    mode_t mode = va_arg(more, mode_t);                             \
    va_end(more);                                                   \
    int existed = watched(path) ? exists(path) : 1;                 \
    return opened(next(path, flags, mode), path, existed, flags);   \
  }
OPEN(open)
OPEN(open64)

#define OPEN_AT(name)                                                    \
  int name(int at, const char *path, int flags, ...) {                   \
    REAL(int, #name, int, const char *, int, ...);                       \
    va_list more;                                                        \
    va_start(more, flags);                                               \
    mode_t mode = va_arg(more, mode_t);                                  \
    va_end(more);                                                        \
    int existed = watched(path) ? exists(path) : 1;                      \
    return opened(next(at, path, flags, mode), path, existed, flags);    \
  }
OPEN_AT(openat)
OPEN_AT(openat64)

int close(int fd) {
  REAL(int, "close", int);
  if (path_of(fd)) {
    free(paths[fd]);
    paths[fd] = NULL;
  }
  return next(fd);
}

ssize_t write(int fd, const void *data, size_t bytes) {
  REAL(ssize_t, "write", int, const void *, size_t);
  const char *path = path_of(fd);
  if (!path) return next(fd, data, bytes);
  if (fails()) return -1;
  ssize_t done = next(fd, data, bytes);
  if (done > 0) record(WRITE, path, (uint64_t)(lseek(fd, 0, SEEK_CUR) - done), data, (uint32_t)done);
  return done;
}

#define WRITE_AT(name, offset_type)                                                \
  ssize_t name(int fd, const void *data, size_t bytes, offset_type offset) {       \
    REAL(ssize_t, #name, int, const void *, size_t, offset_type);                  \
    const char *path = path_of(fd);                                                \
    if (path && fails()) return -1;                                                \
    ssize_t done = next(fd, data, bytes, offset);                                  \
    if (path && done > 0) record(WRITE, path, (uint64_t)offset, data, (uint32_t)done); \
    return done;                                                                   \
  }
WRITE_AT(pwrite, off_t)
WRITE_AT(pwrite64, off64_t)

/* Nobody writes in parts here; should that change, the recording must not go on as if nothing were missing. */
#define REFUSED(name, ...)                              \
  ssize_t name(int fd, __VA_ARGS__) {                   \
    REAL(ssize_t, #name, int, const struct iovec *, int, off_t); \
    if (path_of(fd)) abort();                           \
    return next(fd, parts, count, offset);              \
  }
REFUSED(pwritev, const struct iovec *parts, int count, off_t offset)
REFUSED(pwritev64, const struct iovec *parts, int count, off_t offset)

ssize_t writev(int fd, const struct iovec *parts, int count) {
  REAL(ssize_t, "writev", int, const struct iovec *, int);
  if (path_of(fd)) abort();
  return next(fd, parts, count);
}

#define TRUNCATE_TO(name, offset_type)                                  \
  int name(int fd, offset_type bytes) {                                 \
    REAL(int, #name, int, offset_type);                                 \
    int done = next(fd, bytes);                                         \
    if (done == 0 && path_of(fd)) record(TRUNCATE, path_of(fd), (uint64_t)bytes, NULL, 0); \
    return done;                                                        \
  }
TRUNCATE_TO(ftruncate, off_t)
TRUNCATE_TO(ftruncate64, off64_t)

#define SYNC_WITH(name)                                   \
  int name(int fd) {                                      \
    REAL(int, #name, int);                                \
    const char *path = path_of(fd);                       \
    if (path && fails()) return -1;                       \
    int done = next(fd);                                  \
    if (done == 0 && path) record(SYNC, path, 0, NULL, 0); \
    return done;                                          \
  }
SYNC_WITH(fsync)
SYNC_WITH(fdatasync)

int unlink(const char *path) {
  REAL(int, "unlink", const char *);
  int done = next(path);
  if (done == 0 && watched(path)) record(UNLINK, path, 0, NULL, 0);
  return done;
}

int rename(const char *from, const char *to) {
  REAL(int, "rename", const char *, const char *);
  int done = next(from, to);
  if (done == 0 && watched(from)) record(RENAME, from, 0, to, (uint32_t)strlen(to));
  return done;
}

int mkdir(const char *path, mode_t mode) {
  REAL(int, "mkdir", const char *, mode_t);
  int done = next(path, mode);
  if (done == 0 && watched(path)) record(MAKE_FOLDER, path, 0, NULL, 0);
  return done;
}
