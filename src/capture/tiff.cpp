#include <algorithm>
#include <array>
#include <cstdarg>
#include <cstdio>
#include <cstring>
#include <memory>

#include <tiffio.h>

#include "mamelon/error.h"
#include "mamelon/limits.h"

#include "capture/exif.h"
#include "capture/raster.h"

namespace mamelon::detail {
namespace {

struct Source {
  std::span<const std::byte> bytes;
  std::size_t at = 0;
  std::array<char, 300> text{};
};

tmsize_t read_bytes(thandle_t handle, void* out, tmsize_t count) {
  auto* source = static_cast<Source*>(handle);
  const std::size_t left = source->bytes.size() - std::min(source->at, source->bytes.size());
  const std::size_t n = std::min(left, static_cast<std::size_t>(count));
  if (n > 0) std::memcpy(out, source->bytes.data() + source->at, n);
  source->at += n;
  return static_cast<tmsize_t>(n);
}
tmsize_t write_nothing(thandle_t, void*, tmsize_t) {
  return 0;
}
toff_t seek(thandle_t handle, toff_t offset, int whence) {
  auto* source = static_cast<Source*>(handle);
  if (whence == SEEK_CUR) offset += source->at;
  if (whence == SEEK_END) offset += source->bytes.size();
  source->at = offset;
  return offset;
}
int close_nothing(thandle_t) {
  return 0;
}
toff_t size_of(thandle_t handle) {
  return static_cast<Source*>(handle)->bytes.size();
}
int map_bytes(thandle_t handle, void** base, toff_t* size) {
  auto* source = static_cast<Source*>(handle);
  // libtiff only reads from a mapping of a file opened for reading.
  *base = const_cast<std::byte*>(
      source->bytes.data());  // NOLINT(cppcoreguidelines-pro-type-const-cast)
  *size = source->bytes.size();
  return 1;
}
void unmap_nothing(thandle_t, void*, toff_t) {}

int on_error(TIFF*, void* user, const char*, const char* format, va_list arguments) {
  auto* source = static_cast<Source*>(user);
  if (source->text[0] == '\0') {
    std::vsnprintf(source->text.data(), source->text.size(), format, arguments);
  }
  return 1;
}
int on_warning(TIFF*, void*, const char*, const char*, va_list) {
  return 1;
}

// Bytes of a tile, and of anything else that libtiff asks for in one piece.
constexpr std::size_t most_at_once = std::size_t{64} << 20U;

struct Close {
  void operator()(TIFF* tiff) const { TIFFClose(tiff); }
};
using TiffHandle = std::unique_ptr<TIFF, Close>;

TiffHandle open(Source& source) {
  TIFFOpenOptions* options = TIFFOpenOptionsAlloc();
  TIFFOpenOptionsSetErrorHandlerExtR(options, on_error, &source);
  TIFFOpenOptionsSetWarningHandlerExtR(options, on_warning, &source);
  TIFFOpenOptionsSetMaxSingleMemAlloc(options, most_at_once);
  TIFF* tiff = TIFFClientOpenExt("photo", "r", &source, read_bytes, write_nothing, seek,
                                 close_nothing, size_of, map_bytes, unmap_nothing, options);
  TIFFOpenOptionsFree(options);
  return TiffHandle(tiff);
}

std::uint16_t field16(TIFF* tiff, std::uint32_t tag, std::uint16_t otherwise) {
  std::uint16_t value = otherwise;
  return TIFFGetFieldDefaulted(tiff, tag, &value) == 1 ? value : otherwise;
}

void check_colour_kind(TIFF* tiff, const std::string& name) {
  constexpr std::uint16_t linear_raw = 34892;
  const std::uint16_t photometric = field16(tiff, TIFFTAG_PHOTOMETRIC, PHOTOMETRIC_RGB);
  switch (photometric) {
    case PHOTOMETRIC_RGB:
    case PHOTOMETRIC_YCBCR:
      return;
    case PHOTOMETRIC_MINISWHITE:
    case PHOTOMETRIC_MINISBLACK:
      throw CaptureError(name + ": a greyscale TIFF holds no colour; a colour photo is needed");
    case PHOTOMETRIC_SEPARATED:
      throw CaptureError(name + ": a CMYK TIFF is made for printing; an RGB photo is needed");
    case PHOTOMETRIC_CFA:
    case linear_raw:
      throw CaptureError(name + ": this TIFF holds raw sensor data; export it as RGB first");
    default:
      throw CaptureError(name + ": this kind of TIFF (photometric interpretation " +
                         std::to_string(photometric) + ") is not RGB; an RGB photo is needed");
  }
}

// The rows of a picture, band after band. Where each channel stands in a plane of its own the band
// is the whole picture.
class Reader {
 public:
  Reader(TIFF* tiff, const RasterFacts& facts)
      : tiff_(tiff),
        width_(facts.width),
        height_(facts.height),
        sample_bytes_(static_cast<std::size_t>(facts.bits / 8)),
        samples_(field16(tiff, TIFFTAG_SAMPLESPERPIXEL, 3)),
        separate_(field16(tiff, TIFFTAG_PLANARCONFIG, PLANARCONFIG_CONTIG) ==
                  PLANARCONFIG_SEPARATE) {
    if (TIFFIsTiled(tiff) != 0) {
      TIFFGetField(tiff, TIFFTAG_TILEWIDTH, &tile_width_);
      TIFFGetField(tiff, TIFFTAG_TILELENGTH, &tile_height_);
      tile_bytes_ = static_cast<std::size_t>(TIFFTileSize64(tiff));
    }
    const std::size_t rows = tile_height_ > 0 ? tile_height_ : 64;
    band_ = separate_ ? height_ : std::min(height_, rows);
  }

  // What is needed for it beside the picture.
  [[nodiscard]] std::size_t bytes() const {
    return 3 * width_ * band_ * sample_bytes_ + std::min(tile_bytes_, most_at_once);
  }

  // False where something is missing or damaged.
  bool read(const RasterSink& sink) {
    // Of 16 bits, so that either kind of code is aligned in it.
    std::vector<std::uint16_t> codes((3 * width_ * band_ * sample_bytes_ + 1) / 2);
    for (std::size_t y = 0; y < height_; y += band_) {
      const std::size_t rows = std::min(band_, height_ - y);
      if (!read_band(reinterpret_cast<std::uint8_t*>(codes.data()), y, rows)) return false;
      if (sample_bytes_ == 2) {
        sink.put16(codes.data(), rows);
      } else {
        sink.put8(reinterpret_cast<const std::uint8_t*>(codes.data()), rows);
      }
    }
    return true;
  }

 private:
  bool read_band(std::uint8_t* out, std::size_t first, std::size_t rows) {
    const std::uint16_t planes = separate_ ? 3 : 1;
    for (std::uint16_t plane = 0; plane < planes; ++plane) {
      if (!(TIFFIsTiled(tiff_) != 0 ? read_tiles(out, first, rows, plane)
                                    : read_lines(out, first, rows, plane))) {
        return false;
      }
    }
    return true;
  }

  bool read_lines(std::uint8_t* out, std::size_t first, std::size_t rows, std::uint16_t plane) {
    std::vector<std::uint8_t> line(static_cast<std::size_t>(TIFFScanlineSize64(tiff_)));
    if (line.size() < width_ * (separate_ ? 1U : samples_) * sample_bytes_) return false;
    for (std::size_t y = 0; y < rows; ++y) {
      if (TIFFReadScanline(tiff_, line.data(), static_cast<std::uint32_t>(first + y), plane) != 1) {
        return false;
      }
      place(line.data(), out, y * width_, width_, plane);
    }
    return true;
  }

  bool read_tiles(std::uint8_t* out, std::size_t first, std::size_t rows, std::uint16_t plane) {
    const std::size_t row = std::size_t{tile_width_} * (separate_ ? 1U : samples_) * sample_bytes_;
    if (tile_width_ == 0 || tile_height_ == 0 || tile_bytes_ < row * tile_height_) return false;
    if (tile_bytes_ > most_at_once) return false;
    std::vector<std::uint8_t> tile(tile_bytes_);
    for (std::size_t y = first; y < first + rows; y += tile_height_) {
      for (std::size_t x = 0; x < width_; x += tile_width_) {
        if (TIFFReadTile(tiff_, tile.data(), static_cast<std::uint32_t>(x),
                         static_cast<std::uint32_t>(y), 0, plane) < 0) {
          return false;
        }
        const std::size_t lines = std::min<std::size_t>(tile_height_, first + rows - y);
        const std::size_t columns = std::min<std::size_t>(tile_width_, width_ - x);
        for (std::size_t i = 0; i < lines; ++i) {
          place(tile.data() + i * row, out, (y - first + i) * width_ + x, columns, plane);
        }
      }
    }
    return true;
  }

  // Puts `count` pixels of a line, of one plane or of all channels, from pixel `at` of the band on.
  void place(const std::uint8_t* line, std::uint8_t* out, std::size_t at, std::size_t count,
             std::uint16_t plane) const {
    const std::size_t step = separate_ ? 1U : samples_;
    const std::size_t channels = separate_ ? 1U : 3U;
    for (std::size_t i = 0; i < count; ++i) {
      std::memcpy(out + (3 * (at + i) + plane) * sample_bytes_, line + i * step * sample_bytes_,
                  channels * sample_bytes_);
    }
  }

  TIFF* tiff_;
  std::size_t width_;
  std::size_t height_;
  std::size_t sample_bytes_;
  std::size_t samples_;
  bool separate_;
  std::uint32_t tile_width_ = 0;
  std::uint32_t tile_height_ = 0;
  std::size_t tile_bytes_ = 0;
  std::size_t band_ = 0;
};

}  // namespace

void decode_tiff(std::span<const std::byte> bytes, const std::string& name,
                 const RasterSink& sink) {
  Source source{bytes};
  const TiffHandle tiff = open(source);
  if (!tiff) throw DataError(name + ": not a usable TIFF file: " + source.text.data());
  std::uint32_t width = 0;
  std::uint32_t height = 0;
  if (TIFFGetField(tiff.get(), TIFFTAG_IMAGEWIDTH, &width) != 1 ||
      TIFFGetField(tiff.get(), TIFFTAG_IMAGELENGTH, &height) != 1) {
    throw DataError(name + ": the TIFF file does not state its size");
  }
  check_colour_kind(tiff.get(), name);
  check_photo_size(width, height, name);
  RasterFacts raster;
  raster.width = width;
  raster.height = height;
  raster.bits = field16(tiff.get(), TIFFTAG_BITSPERSAMPLE, 8);
  if ((raster.bits != 8 && raster.bits != 16) ||
      field16(tiff.get(), TIFFTAG_SAMPLEFORMAT, 1) != 1) {
    throw CaptureError(name + ": TIFF samples must be unsigned integers of 8 or 16 bits");
  }
  if (field16(tiff.get(), TIFFTAG_SAMPLESPERPIXEL, 3) < 3) {
    throw CaptureError(name + ": the TIFF has fewer than three channels; RGB is needed");
  }
  if (field16(tiff.get(), TIFFTAG_PHOTOMETRIC, PHOTOMETRIC_RGB) == PHOTOMETRIC_YCBCR) {
    if (field16(tiff.get(), TIFFTAG_COMPRESSION, COMPRESSION_NONE) != COMPRESSION_JPEG) {
      throw CaptureError(name + ": a YCbCr TIFF can be read only when it is JPEG-compressed");
    }
    TIFFSetField(tiff.get(), TIFFTAG_JPEGCOLORMODE, JPEGCOLORMODE_RGB);
    raster.lossy = true;
  }
  const std::uint16_t orientation = field16(tiff.get(), TIFFTAG_ORIENTATION, 1);
  raster.orientation = orientation >= 1 && orientation <= 8 ? orientation : 1;
  // A TIFF file is itself a block as EXIF has it.
  if (const auto facts = read_exif(bytes)) raster.settings = facts->settings;
  std::uint32_t icc_size = 0;
  void* icc = nullptr;
  if (TIFFGetField(tiff.get(), TIFFTAG_ICCPROFILE, &icc_size, &icc) == 1) {
    if (icc_size > limits::profile_bytes) {
      throw DataError(name + ": the embedded ICC profile is larger than " +
                      std::to_string(limits::profile_bytes >> 20U) + " MiB");
    }
    const auto* first = static_cast<const std::uint8_t*>(icc);
    raster.icc.assign(first, first + icc_size);
  }
  Reader reader(tiff.get(), raster);
  check_photo_memory(width, height, 3 * static_cast<std::size_t>(raster.bits / 8),
                     bytes.size() + reader.bytes(), name);
  sink.begin(raster);
  if (!reader.read(sink) || source.text[0] != '\0') {
    throw DataError(name + ": the TIFF file is truncated or damaged: " + source.text.data());
  }
}

}  // namespace mamelon::detail
