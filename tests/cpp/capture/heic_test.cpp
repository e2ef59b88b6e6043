// HEIC by libheif's own encoder, against the picture that was encoded.

#include <cmath>
#include <cstdlib>
#include <memory>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <libheif/heif.h>

#include "mamelon/error.h"
#include "mamelon/image.h"

namespace {

constexpr int width = 320;
constexpr int height = 256;

struct Colour {
  int r, g, b;
};

Colour colour_at(int x, int y) {
  return {x < width / 2 ? 200 : 60, y < height / 2 ? 180 : 90, 100};
}

std::vector<std::byte> encoded() {
  const std::unique_ptr<heif_context, void (*)(heif_context*)> context(heif_context_alloc(),
                                                                       heif_context_free);
  heif_encoder* encoder = nullptr;
  if (heif_context_get_encoder_for_format(context.get(), heif_compression_HEVC, &encoder).code !=
      heif_error_Ok) {
    return {};
  }
  heif_encoder_set_lossy_quality(encoder, 95);
  heif_image* image = nullptr;
  heif_image_create(width, height, heif_colorspace_RGB, heif_chroma_interleaved_RGB, &image);
  heif_image_add_plane(image, heif_channel_interleaved, width, height, 8);
  int stride = 0;
  std::uint8_t* plane = heif_image_get_plane(image, heif_channel_interleaved, &stride);
  for (int y = 0; y < height; ++y) {
    for (int x = 0; x < width; ++x) {
      const Colour c = colour_at(x, y);
      std::uint8_t* p = plane + static_cast<std::ptrdiff_t>(y) * stride + 3 * x;
      p[0] = static_cast<std::uint8_t>(c.r);
      p[1] = static_cast<std::uint8_t>(c.g);
      p[2] = static_cast<std::uint8_t>(c.b);
    }
  }
  const heif_error error =
      heif_context_encode_image(context.get(), image, encoder, nullptr, nullptr);
  heif_image_release(image);
  heif_encoder_release(encoder);
  std::vector<std::byte> out;
  if (error.code != heif_error_Ok) return out;
  heif_writer writer{};
  writer.writer_api_version = 1;
  writer.write = [](heif_context*, const void* data, std::size_t size, void* to) {
    const auto* bytes = static_cast<const std::byte*>(data);
    static_cast<std::vector<std::byte>*>(to)->assign(bytes, bytes + size);
    return heif_error{heif_error_Ok, heif_suberror_Unspecified, ""};
  };
  heif_context_write(context.get(), &writer, &out);
  return out;
}

// IEC 61966-2-1.
double code_of(std::uint16_t light) {
  const double v = light / 65535.0;
  return 255 * (v <= 0.0031308 ? 12.92 * v : 1.055 * std::pow(v, 1 / 2.4) - 0.055);
}

TEST(Heic, IsReadAsItWasEncoded) {
  const auto bytes = encoded();
  if (bytes.empty()) GTEST_SKIP() << "this libheif encodes no HEVC";
  const auto photo = mamelon::decode_photo(bytes, "p.heic");
  ASSERT_EQ(photo.width, static_cast<std::size_t>(width));
  ASSERT_EQ(photo.height, static_cast<std::size_t>(height));
  for (const auto& [x, y] : {std::pair{40, 40}, {280, 40}, {40, 200}, {280, 200}}) {
    const auto light = photo.pixel(static_cast<std::size_t>(x), static_cast<std::size_t>(y));
    const Colour c = colour_at(x, y);
    EXPECT_NEAR(code_of(light[0]), c.r, 4);
    EXPECT_NEAR(code_of(light[1]), c.g, 4);
    EXPECT_NEAR(code_of(light[2]), c.b, 4);
  }
}

TEST(Heic, EveryTruncationIsAnError) {
  const auto bytes = encoded();
  if (bytes.empty()) GTEST_SKIP() << "this libheif encodes no HEVC";
  for (std::size_t size = 12; size + 1 < bytes.size(); size += bytes.size() / 40 + 1) {
    EXPECT_THROW((void)mamelon::decode_photo(std::span(bytes).first(size), "p.heic"),
                 mamelon::DataError)
        << size;
  }
}

}  // namespace
