#include <algorithm>
#include <array>
#include <cstdarg>
#include <cstdio>
#include <cstring>
#include <memory>

#include <tiffio.h>

#include "mamelon/error.h"
#include "mamelon/limits.h"

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

struct Close {
  void operator()(TIFF* tiff) const { TIFFClose(tiff); }
};
using TiffHandle = std::unique_ptr<TIFF, Close>;

TiffHandle open(Source& source) {
  TIFFOpenOptions* options = TIFFOpenOptionsAlloc();
  TIFFOpenOptionsSetErrorHandlerExtR(options, on_error, &source);
  TIFFOpenOptionsSetWarningHandlerExtR(options, on_warning, &source);
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

// One strip or tile row after another, each copied to its place.
class Reader {
 public:
  Reader(TIFF* tiff, Raster& raster)
      : tiff_(tiff),
        raster_(raster),
        samples_(field16(tiff, TIFFTAG_SAMPLESPERPIXEL, 3)),
        separate_(field16(tiff, TIFFTAG_PLANARCONFIG, PLANARCONFIG_CONTIG) ==
                  PLANARCONFIG_SEPARATE) {}

  bool read() {
    const std::uint16_t planes = separate_ ? 3 : 1;
    for (std::uint16_t plane = 0; plane < planes; ++plane) {
      if (!(TIFFIsTiled(tiff_) != 0 ? read_tiles(plane) : read_lines(plane))) return false;
    }
    return true;
  }

 private:
  bool read_lines(std::uint16_t plane) {
    std::vector<std::uint8_t> line(static_cast<std::size_t>(TIFFScanlineSize(tiff_)));
    const std::size_t needed =
        raster_.width * (separate_ ? 1U : samples_) * static_cast<std::size_t>(raster_.bits / 8);
    if (line.size() < needed) return false;
    for (std::size_t y = 0; y < raster_.height; ++y) {
      if (TIFFReadScanline(tiff_, line.data(), static_cast<std::uint32_t>(y), plane) != 1) {
        return false;
      }
      place(line.data(), 0, y, raster_.width, plane);
    }
    return true;
  }

  bool read_tiles(std::uint16_t plane) {
    std::uint32_t tile_width = 0;
    std::uint32_t tile_height = 0;
    TIFFGetField(tiff_, TIFFTAG_TILEWIDTH, &tile_width);
    TIFFGetField(tiff_, TIFFTAG_TILELENGTH, &tile_height);
    const auto size = static_cast<std::size_t>(TIFFTileSize(tiff_));
    const std::size_t row = std::size_t{tile_width} * (separate_ ? 1U : samples_) *
                            static_cast<std::size_t>(raster_.bits / 8);
    if (tile_width == 0 || tile_height == 0 || size < row * tile_height) return false;
    if (size > limits::photo_pixels * 8) return false;
    std::vector<std::uint8_t> tile(size);
    for (std::size_t y = 0; y < raster_.height; y += tile_height) {
      for (std::size_t x = 0; x < raster_.width; x += tile_width) {
        if (TIFFReadTile(tiff_, tile.data(), static_cast<std::uint32_t>(x),
                         static_cast<std::uint32_t>(y), 0, plane) < 0) {
          return false;
        }
        const std::size_t rows = std::min<std::size_t>(tile_height, raster_.height - y);
        const std::size_t columns = std::min<std::size_t>(tile_width, raster_.width - x);
        for (std::size_t i = 0; i < rows; ++i) {
          place(tile.data() + i * row, x, y + i, columns, plane);
        }
      }
    }
    return true;
  }

  void place(const std::uint8_t* line, std::size_t x, std::size_t y, std::size_t count,
             std::uint16_t plane) {
    const std::size_t start = 3 * (y * raster_.width + x);
    if (raster_.bits == 16) {
      place_samples(line, raster_.codes16.data() + start, count, plane);
    } else {
      place_samples(line, raster_.codes8.data() + start, count, plane);
    }
  }

  template <class Code>
  void place_samples(const std::uint8_t* line, Code* out, std::size_t count,
                     std::uint16_t plane) const {
    const std::size_t step = separate_ ? 1U : samples_;
    const std::size_t channels = separate_ ? 1U : 3U;
    for (std::size_t i = 0; i < count; ++i) {
      for (std::size_t c = 0; c < channels; ++c) {
        std::memcpy(out + 3 * i + plane + c, line + (i * step + c) * sizeof(Code), sizeof(Code));
      }
    }
  }

  TIFF* tiff_;
  Raster& raster_;
  std::size_t samples_;
  bool separate_;
};

}  // namespace

Raster decode_tiff(std::span<const std::byte> bytes, const std::string& name) {
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
  Raster raster;
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
  std::uint32_t icc_size = 0;
  void* icc = nullptr;
  if (TIFFGetField(tiff.get(), TIFFTAG_ICCPROFILE, &icc_size, &icc) == 1) {
    const auto* first = static_cast<const std::uint8_t*>(icc);
    raster.icc.assign(first, first + icc_size);
  }
  const std::size_t count = raster.width * raster.height * 3;
  if (raster.bits == 16) {
    raster.codes16.resize(count);
  } else {
    raster.codes8.resize(count);
  }
  if (!Reader(tiff.get(), raster).read() || source.text[0] != '\0') {
    throw DataError(name + ": the TIFF file is truncated or damaged: " + source.text.data());
  }
  return raster;
}

}  // namespace mamelon::detail
