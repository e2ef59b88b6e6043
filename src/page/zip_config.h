// What libzip's configure would find, for WebAssembly and for Linux: config.h and zipconf.h in one.
#pragma once
#include <inttypes.h>
#include <stdint.h>
#include <sys/types.h>
#define LIBZIP_VERSION "1.7"
#define LIBZIP_VERSION_MAJOR 1
#define LIBZIP_VERSION_MINOR 7
#define LIBZIP_VERSION_MICRO 0
#define PACKAGE "libzip"
#define VERSION LIBZIP_VERSION
#define ZIP_STATIC
#define HAVE_FILENO
#define HAVE_FSEEKO
#define HAVE_FTELLO
#define HAVE_LOCALTIME_R
#define HAVE_SNPRINTF
#define HAVE_STDBOOL_H
#define HAVE_STRCASECMP
#define HAVE_STRDUP
#define HAVE_STRINGS_H
#define HAVE_STRTOLL
#define HAVE_STRTOULL
#define HAVE_UNISTD_H
#define SIZEOF_OFF_T 8
#define SIZEOF_SIZE_T __SIZEOF_SIZE_T__
typedef int8_t zip_int8_t;
typedef uint8_t zip_uint8_t;
typedef int16_t zip_int16_t;
typedef uint16_t zip_uint16_t;
typedef int32_t zip_int32_t;
typedef uint32_t zip_uint32_t;
typedef int64_t zip_int64_t;
typedef uint64_t zip_uint64_t;
#define ZIP_INT8_MIN INT8_MIN
#define ZIP_INT8_MAX INT8_MAX
#define ZIP_UINT8_MAX UINT8_MAX
#define ZIP_INT16_MIN INT16_MIN
#define ZIP_INT16_MAX INT16_MAX
#define ZIP_UINT16_MAX UINT16_MAX
#define ZIP_INT32_MIN INT32_MIN
#define ZIP_INT32_MAX INT32_MAX
#define ZIP_UINT32_MAX UINT32_MAX
#define ZIP_INT64_MIN INT64_MIN
#define ZIP_INT64_MAX INT64_MAX
#define ZIP_UINT64_MAX UINT64_MAX
