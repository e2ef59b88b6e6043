#pragma once
// What the file decoders hand over: the file's own numbers, before any of them means light.

#include <cstddef>
#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "mamelon/image.h"

namespace mamelon::detail {

// What a file says beside its pixels.
struct RasterFacts {
  std::size_t width = 0;
  std::size_t height = 0;
  int bits = 8;                   // 8 or 16
  std::vector<std::uint8_t> icc;  // empty without a profile
  int orientation = 1;            // EXIF 1–8
  bool lossy = false;             // JPEG: codes next to the top may have been clipped ones
  bool declared_srgb = false;
  std::optional<double> file_gamma;  // exponent of a PNG gAMA chunk, code = light^gamma
  CameraSettings settings;
  std::vector<std::string> warnings;
};

// The same with every pixel; `bits` says which of the two vectors is filled.
struct Raster : RasterFacts {
  std::vector<std::uint8_t> codes8;    // interleaved R, G, B
  std::vector<std::uint16_t> codes16;  // the same, native byte order
};

// Throws CaptureError naming the limit when the size cannot be measured.
void check_photo_size(std::size_t width, std::size_t height, const std::string& source);
// Throws CaptureError when a picture of so many bytes a pixel, or what is needed beside it while it
// is read, takes more than limits::memory_bytes. Told from the header, before anything is decoded.
void check_photo_memory(std::size_t width, std::size_t height, std::size_t bytes_a_pixel,
                        std::size_t beside_bytes, const std::string& source);

// Takes the rows of a picture band by band from the top; codes are interleaved R, G, B.
struct RasterSink {
  // Called once, before the first band.
  std::function<void(const RasterFacts& facts)> begin;
  std::function<void(const std::uint8_t* codes, std::size_t rows)> put8;
  std::function<void(const std::uint16_t* codes, std::size_t rows)> put16;
};

struct JpegDecoder;

// A JPEG file, row by row: the photo is filled while the file is still being decoded.
class JpegReader {
 public:
  // Reads all but the pixels. Throws DataError for a malformed file, CaptureError for a grey or
  // CMYK one or one that cannot be measured. `bytes` has to outlive the reader.
  JpegReader(std::span<const std::byte> bytes, const std::string& source);

  [[nodiscard]] const RasterFacts& facts() const { return facts_; }
  // The next `rows` rows, interleaved R, G, B; no more than the file has left. Throws DataError
  // when pixels are missing or damaged.
  void read_rows(std::uint8_t* out, std::size_t rows);

 private:
  struct Close {
    void operator()(JpegDecoder* decoder) const;
  };
  std::unique_ptr<JpegDecoder, Close> decoder_;
  std::string source_;
  RasterFacts facts_;
  std::size_t next_row_ = 0;
};

Raster decode_jpeg(std::span<const std::byte> bytes, const std::string& source);
void decode_png(std::span<const std::byte> bytes, const std::string& source,
                const RasterSink& sink);
void decode_tiff(std::span<const std::byte> bytes, const std::string& source,
                 const RasterSink& sink);

}  // namespace mamelon::detail
