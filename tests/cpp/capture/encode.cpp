#include "encode.h"

#include <array>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <stdexcept>
// jpeglib.h needs size_t and FILE declared first.
#include <jpeglib.h>
#include <lcms2.h>
#include <png.h>
#include <tiffio.h>
#include <unistd.h>

namespace encode {
namespace {

Bytes to_bytes(const void* data, std::size_t size) {
  Bytes out(size);
  if (size > 0) std::memcpy(out.data(), data, size);
  return out;
}

Bytes file_bytes(const std::string& path) {
  std::FILE* f = std::fopen(path.c_str(), "rb");
  if (f == nullptr) throw std::runtime_error("cannot reopen " + path);
  Bytes out;
  std::array<std::byte, 65536> buffer{};
  for (std::size_t n = 0; (n = std::fread(buffer.data(), 1, buffer.size(), f)) > 0;) {
    out.insert(out.end(), buffer.begin(), buffer.begin() + static_cast<std::ptrdiff_t>(n));
  }
  std::fclose(f);
  return out;
}

Bytes save(cmsHPROFILE profile) {
  cmsUInt32Number size = 0;
  cmsSaveProfileToMem(profile, nullptr, &size);
  Bytes out(size);
  cmsSaveProfileToMem(profile, out.data(), &size);
  cmsCloseProfile(profile);
  return out;
}

void write_png(png_structp png, png_bytep data, std::size_t size) {
  auto* out = static_cast<Bytes*>(png_get_io_ptr(png));
  const auto* first = reinterpret_cast<const std::byte*>(data);
  out->insert(out->end(), first, first + size);
}

Bytes png(std::size_t width, std::size_t height, int bits, const std::uint8_t* rows,
          const Bytes& icc, double gamma) {
  Bytes out;
  png_structp p = png_create_write_struct(PNG_LIBPNG_VER_STRING, nullptr, nullptr, nullptr);
  png_infop info = png_create_info_struct(p);
  png_set_write_fn(p, &out, write_png, nullptr);
  png_set_IHDR(p, info, static_cast<png_uint_32>(width), static_cast<png_uint_32>(height), bits,
               PNG_COLOR_TYPE_RGB, PNG_INTERLACE_NONE, PNG_COMPRESSION_TYPE_DEFAULT,
               PNG_FILTER_TYPE_DEFAULT);
  if (gamma > 0) png_set_gAMA(p, info, gamma);
  if (!icc.empty()) {
    png_set_iCCP(p, info, "profile", 0, reinterpret_cast<png_const_bytep>(icc.data()),
                 static_cast<png_uint_32>(icc.size()));
  }
  png_write_info(p, info);
  if (bits == 16) png_set_swap(p);
  const std::size_t stride = width * 3 * static_cast<std::size_t>(bits / 8);
  for (std::size_t y = 0; y < height; ++y) png_write_row(p, rows + y * stride);
  png_write_end(p, nullptr);
  png_destroy_write_struct(&p, &info);
  return out;
}

}  // namespace

Bytes jpeg(const Image8& image, const JpegOptions& options) {
  jpeg_compress_struct c{};
  jpeg_error_mgr errors{};
  c.err = jpeg_std_error(&errors);
  jpeg_create_compress(&c);
  unsigned char* memory = nullptr;
  unsigned long size = 0;
  jpeg_mem_dest(&c, &memory, &size);
  c.image_width = static_cast<JDIMENSION>(image.width);
  c.image_height = static_cast<JDIMENSION>(image.height);
  c.input_components = options.cmyk ? 4 : (options.grey ? 1 : 3);
  c.in_color_space = options.cmyk ? JCS_CMYK : (options.grey ? JCS_GRAYSCALE : JCS_RGB);
  jpeg_set_defaults(&c);
  jpeg_set_quality(&c, options.quality, TRUE);
  jpeg_start_compress(&c, TRUE);
  if (options.orientation != 0) {
    // Big-endian TIFF header, one entry: Orientation, SHORT, 1.
    std::array<unsigned char, 32> exif = {'E', 'x', 'i', 'f', 0, 0, 'M',  'M', 0, 42, 0,
                                          0,   0,   8,   0,   1, 1, 0x12, 0,   3, 0,  0,
                                          0,   1,   0,   0,   0, 0, 0,    0,   0, 0};
    exif[25] = static_cast<unsigned char>(options.orientation);
    jpeg_write_marker(&c, JPEG_APP0 + 1, exif.data(), 32);
  }
  if (!options.icc.empty()) {
    jpeg_write_icc_profile(&c, reinterpret_cast<const JOCTET*>(options.icc.data()),
                           static_cast<unsigned>(options.icc.size()));
  }
  std::vector<std::uint8_t> line(image.width * static_cast<std::size_t>(c.input_components), 90);
  while (c.next_scanline < c.image_height) {
    if (c.input_components == 3) {
      std::memcpy(line.data(), image.rgb.data() + 3 * image.width * c.next_scanline, line.size());
    }
    JSAMPROW row = line.data();
    jpeg_write_scanlines(&c, &row, 1);
  }
  jpeg_finish_compress(&c);
  Bytes out = to_bytes(memory, size);
  jpeg_destroy_compress(&c);
  std::free(memory);
  return out;
}

Bytes png8(const Image8& image, const Bytes& icc) {
  return png(image.width, image.height, 8, image.rgb.data(), icc, 0);
}

Bytes png16(const Image16& image, double gamma) {
  return png(image.width, image.height, 16, reinterpret_cast<const std::uint8_t*>(image.rgb.data()),
             {}, gamma);
}

Bytes tiff16(const Image16& image, const Bytes& icc, int orientation, bool tiled) {
  std::array<char, 32> path = {"/tmp/mamelon_tiff_XXXXXX"};
  const int fd = mkstemp(path.data());
  if (fd < 0) throw std::runtime_error("cannot make a temporary file");
  close(fd);
  TIFF* t = TIFFOpen(path.data(), "w");
  TIFFSetField(t, TIFFTAG_IMAGEWIDTH, static_cast<std::uint32_t>(image.width));
  TIFFSetField(t, TIFFTAG_IMAGELENGTH, static_cast<std::uint32_t>(image.height));
  TIFFSetField(t, TIFFTAG_BITSPERSAMPLE, 16);
  TIFFSetField(t, TIFFTAG_SAMPLESPERPIXEL, 3);
  TIFFSetField(t, TIFFTAG_PHOTOMETRIC, PHOTOMETRIC_RGB);
  TIFFSetField(t, TIFFTAG_PLANARCONFIG, PLANARCONFIG_CONTIG);
  TIFFSetField(t, TIFFTAG_COMPRESSION, COMPRESSION_LZW);
  TIFFSetField(t, TIFFTAG_ORIENTATION, orientation);
  if (!icc.empty()) {
    TIFFSetField(t, TIFFTAG_ICCPROFILE, static_cast<std::uint32_t>(icc.size()), icc.data());
  }
  if (tiled) {
    constexpr std::size_t side = 64;
    TIFFSetField(t, TIFFTAG_TILEWIDTH, side);
    TIFFSetField(t, TIFFTAG_TILELENGTH, side);
    for (std::size_t y0 = 0; y0 < image.height; y0 += side) {
      for (std::size_t x0 = 0; x0 < image.width; x0 += side) {
        std::vector<std::uint16_t> tile(side * side * 3);
        for (std::size_t y = y0; y < std::min(y0 + side, image.height); ++y) {
          for (std::size_t x = x0; x < std::min(x0 + side, image.width); ++x) {
            std::memcpy(&tile[3 * ((y - y0) * side + x - x0)],
                        &image.rgb[3 * (y * image.width + x)], 6);
          }
        }
        TIFFWriteTile(t, tile.data(), static_cast<std::uint32_t>(x0),
                      static_cast<std::uint32_t>(y0), 0, 0);
      }
    }
  } else {
    for (std::size_t y = 0; y < image.height; ++y) {
      std::vector<std::uint16_t> line(
          image.rgb.begin() + static_cast<std::ptrdiff_t>(3 * image.width * y),
          image.rgb.begin() + static_cast<std::ptrdiff_t>(3 * image.width * (y + 1)));
      TIFFWriteScanline(t, line.data(), static_cast<std::uint32_t>(y), 0);
    }
  }
  TIFFClose(t);
  Bytes out = file_bytes(path.data());
  std::remove(path.data());
  return out;
}

Bytes gamma_profile(double gamma) {
  const cmsCIExyY white = {0.3127, 0.3290, 1.0};
  const cmsCIExyYTRIPLE primaries = {{0.64, 0.33, 1.0}, {0.30, 0.60, 1.0}, {0.15, 0.06, 1.0}};
  cmsToneCurve* curve = cmsBuildGamma(nullptr, gamma);
  const std::array<cmsToneCurve*, 3> three = {curve, curve, curve};
  cmsHPROFILE profile = cmsCreateRGBProfile(&white, &primaries, three.data());
  cmsFreeToneCurve(curve);
  return save(profile);
}

Bytes srgb_profile() {
  return save(cmsCreate_sRGBProfile());
}

Bytes srgb_table_profile() {
  cmsHPROFILE srgb = cmsCreate_sRGBProfile();
  cmsHPROFILE lab = cmsCreateLab4Profile(nullptr);
  cmsHTRANSFORM transform =
      cmsCreateTransform(srgb, TYPE_RGB_16, lab, TYPE_Lab_16, INTENT_RELATIVE_COLORIMETRIC,
                         cmsFLAGS_NOCACHE | cmsFLAGS_HIGHRESPRECALC);
  cmsHPROFILE table = cmsTransform2DeviceLink(transform, 4.3, 0);
  cmsSetDeviceClass(table, cmsSigInputClass);
  cmsSetPCS(table, cmsSigLabData);
  cmsDeleteTransform(transform);
  cmsCloseProfile(srgb);
  cmsCloseProfile(lab);
  return save(table);
}

}  // namespace encode
