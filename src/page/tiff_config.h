// What libtiff's configure would find, for WebAssembly and for Linux: 8- and 16-bit photos with the
// compressions that cameras and editors write.
#pragma once
#define HAVE_ASSERT_H 1
#define HAVE_FCNTL_H 1
#define HAVE_IEEEFP 1
#define HAVE_SYS_TYPES_H 1
#define HAVE_UNISTD_H 1
#define HAVE_STRINGS_H 1
#define HOST_FILLORDER FILLORDER_LSB2MSB
#define HOST_BIGENDIAN 0
#define SIZEOF_SIZE_T __SIZEOF_SIZE_T__
#define STDC_HEADERS 1
#define TIFF_INT8_T int8_t
#define TIFF_INT16_T int16_t
#define TIFF_INT32_T int32_t
#define TIFF_INT64_T int64_t
#define TIFF_UINT8_T uint8_t
#define TIFF_UINT16_T uint16_t
#define TIFF_UINT32_T uint32_t
#define TIFF_UINT64_T uint64_t
#define TIFF_SSIZE_T intptr_t
#define TIFF_SSIZE_FORMAT PRIdPTR
#if __SIZEOF_SIZE_T__ == 8
#define TIFF_SIZE_FORMAT PRIu64
#else
#define TIFF_SIZE_FORMAT PRIu32
#endif
#include <inttypes.h>
#include <stdint.h>
#define CCITT_SUPPORT 1
#define PACKBITS_SUPPORT 1
#define LZW_SUPPORT 1
#define ZIP_SUPPORT 1
#define JPEG_SUPPORT 1
#define STRIPCHOP_DEFAULT TIFF_STRIPCHOP
#define STRIP_SIZE_DEFAULT 8192
#define TIFF_MAX_DIR_COUNT 1048576
#define DEFAULT_EXTRASAMPLE_AS_ALPHA 1
#define SUBIFD_SUPPORT 1
#define CHECK_JPEG_YCBCR_SUBSAMPLING 1
#define MDI_SUPPORT 1
#define PACKAGE "tiff"
#define PACKAGE_NAME "LibTIFF Software"
