// What a photo's file costs: memory under a limit of the kernel, and refusals before decoding.

#include <array>
#include <cstring>
#include <fstream>
#include <functional>
#include <initializer_list>
#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <png.h>
#include <sys/stat.h>
#include <unistd.h>
#include <zlib.h>

#include "mamelon/error.h"
#include "mamelon/image.h"
#include "mamelon/limits.h"

#include "encode.h"
#include "limited_memory.h"

namespace mamelon {
namespace {

using encode::Bytes;
using testing::HasSubstr;

constexpr std::size_t mib = std::size_t{1} << 20U;
constexpr std::size_t slack = 64 * mib;

void expect_within_limit(std::size_t picture, const Bytes& file, Outcome wanted) {
  if (!memory_can_be_limited) GTEST_SKIP() << "sanitizers need their own memory";
  EXPECT_EQ(within_memory(picture + limits::memory_bytes + slack,
                          [&] { (void)decode_photo(file, "photo"); }),
            wanted);
}

std::string refusal(const Bytes& file) {
  try {
    (void)decode_photo(file, "photo");
  } catch (const Error& error) {
    return error.what();
  }
  return "nothing was refused";
}

void append(Bytes& bytes, std::initializer_list<unsigned> values) {
  for (const unsigned value : values) bytes.push_back(static_cast<std::byte>(value));
}
void append32(Bytes& bytes, std::uint32_t value) {
  append(bytes, {value >> 24U & 255U, value >> 16U & 255U, value >> 8U & 255U, value & 255U});
}

void append_chunk(Bytes& bytes, const char* type, const Bytes& content) {
  append32(bytes, static_cast<std::uint32_t>(content.size()));
  const std::size_t from = bytes.size();
  for (int i = 0; i < 4; ++i) bytes.push_back(static_cast<std::byte>(type[i]));
  bytes.insert(bytes.end(), content.begin(), content.end());
  append32(bytes,
           static_cast<std::uint32_t>(crc32(0, reinterpret_cast<const Bytef*>(bytes.data() + from),
                                            static_cast<uInt>(bytes.size() - from))));
}

Bytes deflated(const std::string& content) {
  Bytes out(compressBound(content.size()));
  uLongf size = out.size();
  compress(reinterpret_cast<Bytef*>(out.data()), &size,
           reinterpret_cast<const Bytef*>(content.data()), content.size());
  out.resize(size);
  return out;
}

// Head of a PNG (ISO/IEC 15948): signature and IHDR.
Bytes png_head(std::uint32_t width, std::uint32_t height, unsigned bits, unsigned interlace = 0) {
  Bytes file;
  append(file, {0x89, 'P', 'N', 'G', 0x0D, 0x0A, 0x1A, 0x0A});
  Bytes header;
  append32(header, width);
  append32(header, height);
  append(header, {bits, 2, 0, 0, interlace});
  append_chunk(file, "IHDR", header);
  return file;
}

TEST(PhotoMemory, APngOf158MegapixelsAt16BitIsRefusedByItsHeader) {
  Bytes file = png_head(14000, 11300, 16);
  append_chunk(file, "IDAT", deflated(std::string(100, '\0')));
  EXPECT_THAT(refusal(file), HasSubstr("need 905 MiB of memory, more than the 512 MiB"));
  expect_within_limit(0, file, Outcome::refused);
}

TEST(PhotoMemory, AnInterlacedPngIsHeldWholeAndCountedSo) {
  Bytes file = png_head(9500, 9400, 16, 1);
  append_chunk(file, "IDAT", deflated(std::string(100, '\0')));
  append_chunk(file, "IEND", {});
  EXPECT_THAT(refusal(file), HasSubstr("truncated or damaged"));
  expect_within_limit(std::size_t{6} * 9500 * 9400, file, Outcome::refused);
}

TEST(PhotoMemory, AThousandCompressedTextsCostNothing) {
  Bytes file = png_head(320, 256, 8);
  Bytes text;
  append(text, {'c', 0, 0});
  const Bytes packed = deflated(std::string(7 * mib, 'a'));
  text.insert(text.end(), packed.begin(), packed.end());
  for (int i = 0; i < 1000; ++i) append_chunk(file, i % 2 == 0 ? "zTXt" : "tEXt", text);
  append_chunk(file, "IDAT", deflated(std::string(256 * (1 + 3 * 320), '\1')));
  append_chunk(file, "IEND", {});
  expect_within_limit(0, file, Outcome::refused);  // black and white, after it was read
}

// SOI, a frame header (SOF2: progressive) of three components and the head of a scan
// (ISO/IEC 10918-1, B.2.2 and B.2.3).
Bytes progressive_head(unsigned width, unsigned height) {
  Bytes file;
  append(file, {0xFF,        0xD8,         0xFF, 0xC2, 0,    17, 8, height >> 8U, height & 255U,
                width >> 8U, width & 255U, 3,    1,    0x11, 0,  2, 0x11,         0,
                3,           0x11,         0});
  append(file, {0xFF, 0xDA, 0, 12, 3, 1, 0, 2, 0, 3, 0, 0, 0, 0});
  return file;
}

TEST(PhotoMemory, AProgressiveJpegIsCountedWithItsCoefficients) {
  EXPECT_THAT(refusal(progressive_head(14000, 11300)),
              HasSubstr("of memory while they are read, more than the 512 MiB"));
  expect_within_limit(0, progressive_head(14000, 11300), Outcome::refused);
}

TEST(PhotoMemory, AJpegOfManyScansIsRefused) {
  // The same scan again and again: each walks over the whole picture.
  encode::Image8 image{640, 480, std::vector<std::uint8_t>(3 * 640 * 480, 100)};
  for (std::size_t i = 0; i < image.rgb.size(); ++i) {
    image.rgb[i] = static_cast<std::uint8_t>(i * 7 % 251);
  }
  Bytes file;
  append(file, {0xFF, 0xD8});
  append(file, {0xFF, 0xDB, 0, 67, 0});
  for (int i = 0; i < 64; ++i) append(file, {1});
  append(file, {0xFF, 0xC2, 0, 17, 8, 1, 0xE0, 2, 0x80, 3, 1, 0x11, 0, 2, 0x11, 0, 3, 0x11, 0});
  // One code of one bit: a DC difference of nothing.
  append(file, {0xFF, 0xC4, 0, 20, 0, 1, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0});
  append(file, {0xFF, 0xDA, 0, 12, 3, 1, 0, 2, 0, 3, 0, 0, 0, 1});
  for (int i = 0; i < 3 * 80 * 60 / 8; ++i) append(file, {0});
  // Refinements of the DC values: a bit a block.
  for (int scan = 0; scan < 200; ++scan) {
    append(file, {0xFF, 0xDA, 0, 12, 3, 1, 0, 2, 0, 3, 0, 0, 0, 0x10});
    for (int i = 0; i < 3 * 80 * 60 / 8; ++i) append(file, {0});
  }
  append(file, {0xFF, 0xD9});
  EXPECT_THAT(refusal(file), HasSubstr("more than 64 scans"));
}

TEST(PhotoMemory, MarkersOfAJpegAreLimited) {
  Bytes file;
  append(file, {0xFF, 0xD8});
  for (int i = 0; i < 700; ++i) {
    append(file, {0xFF, 0xE2, 0xFF, 0xFF});
    file.resize(file.size() + 0xFFFD);
  }
  EXPECT_THAT(refusal(file), HasSubstr("more than 32 MiB of EXIF data and profile"));
}

// A TIFF (TIFF 6.0) of one strip that the file does not have.
Bytes tiff_head(std::uint32_t width, std::uint32_t height, bool tiled) {
  Bytes file;
  const auto put16 = [&](std::uint32_t v) { append(file, {v & 255U, v >> 8U & 255U}); };
  const auto put32 = [&](std::uint32_t v) {
    put16(v & 65535U);
    put16(v >> 16U);
  };
  append(file, {'I', 'I', 42, 0});
  put32(8);
  const auto entry = [&](std::uint32_t tag, std::uint32_t type, std::uint32_t count,
                         std::uint32_t value) {
    put16(tag);
    put16(type);
    put32(count);
    put32(value);
  };
  put16(tiled ? 11 : 10);
  entry(256, 4, 1, width);
  entry(257, 4, 1, height);
  entry(258, 3, 1, 16);
  entry(259, 3, 1, 1);
  entry(262, 3, 1, 2);
  if (!tiled) entry(273, 4, 1, 8);
  entry(277, 3, 1, 3);
  if (!tiled) entry(278, 4, 1, height);
  if (!tiled) entry(279, 4, 1, 100);
  entry(284, 3, 1, 1);
  if (tiled) {
    entry(322, 4, 1, width);
    entry(323, 4, 1, height);
    entry(324, 4, 1, 8);
    entry(325, 4, 1, 100);
  }
  put32(0);
  return file;
}

TEST(PhotoMemory, ATiffOf158MegapixelsAt16BitIsRefusedByItsHeader) {
  EXPECT_THAT(refusal(tiff_head(14000, 11300, false)), HasSubstr("905 MiB of memory"));
  expect_within_limit(0, tiff_head(14000, 11300, false), Outcome::refused);
  expect_within_limit(std::size_t{6} * 9456 * 9400, tiff_head(9456, 9408, true), Outcome::refused);
  expect_within_limit(std::size_t{6} * 9456 * 9400, tiff_head(9456, 9408, false), Outcome::refused);
}

TEST(PhotoMemory, AFileOfHolesAndANamedPipeAreRefused) {
  const std::string file = testing::TempDir() + "holes.jpg";
  std::ofstream(file) << "\xFF\xD8\xFF";
  ASSERT_EQ(::truncate(file.c_str(), 400 * mib), 0);
  if (memory_can_be_limited) {
    EXPECT_EQ(within_memory(slack, [&] { (void)read_photo(file); }), Outcome::refused);
  }
  ::unlink(file.c_str());
  ASSERT_EQ(::mkfifo(file.c_str(), 0600), 0);
  EXPECT_THROW((void)read_photo(file), IoError);
  ::unlink(file.c_str());
}

}  // namespace
}  // namespace mamelon
