// Tells HEIC and WebP files from their first bytes.

#include <algorithm>
#include <array>
#include <string_view>

#include "capture/phone_files.h"

namespace mamelon::detail {
namespace {

std::string_view text_at(std::span<const std::byte> bytes, std::size_t at) {
  if (bytes.size() < at + 4) return {};
  return {reinterpret_cast<const char*>(bytes.data()) + at, 4};
}

}  // namespace

bool is_heic(std::span<const std::byte> bytes) {
  static constexpr std::array<std::string_view, 10> brands = {
      "heic", "heix", "heim", "heis", "hevc", "hevx", "mif1", "msf1", "avif", "avis"};
  const std::string_view brand = text_at(bytes, 8);
  return text_at(bytes, 4) == "ftyp" &&
         std::find(brands.begin(), brands.end(), brand) != brands.end();
}

bool is_webp(std::span<const std::byte> bytes) {
  return text_at(bytes, 0) == "RIFF" && text_at(bytes, 8) == "WEBP";
}

}  // namespace mamelon::detail
