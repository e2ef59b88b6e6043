// Tells camera raw files from their first bytes.

#include <algorithm>
#include <cstdint>
#include <optional>

#include "capture/raw.h"

namespace mamelon::detail {
namespace {

// Fields of the first directory of a TIFF file (TIFF 6.0, section 2), and those by which raw files
// are told (DNG 1.6; TIFF/EP, ISO 12234-2).
constexpr std::uint16_t new_subfile_type = 254;
constexpr std::uint16_t photometric_interpretation = 262;
constexpr std::uint16_t sub_directories = 330;
constexpr std::uint16_t dng_version = 50706;
constexpr std::uint32_t colour_filter_array = 32803;
constexpr std::uint32_t linear_raw = 34892;

class TiffHead {
 public:
  explicit TiffHead(std::span<const std::byte> bytes) : bytes_(bytes) {
    little_ = bytes.size() > 8 && std::to_integer<char>(bytes[0]) == 'I';
    first_ = number(4, 4).value_or(0);
    entries_ = number(first_, 2).value_or(0);
  }

  // The value of a field that fits in its entry.
  [[nodiscard]] std::optional<std::uint32_t> field(std::uint16_t tag) const {
    for (std::size_t i = 0; i < entries_; ++i) {
      const std::size_t at = first_ + 2 + 12 * i;
      const auto found = number(at, 2);
      if (!found) return {};
      if (*found != tag) continue;
      constexpr std::uint32_t type_short = 3;
      return number(at + 8, number(at + 2, 2) == type_short ? 2 : 4);
    }
    return {};
  }

 private:
  [[nodiscard]] std::optional<std::uint32_t> number(std::size_t at, std::size_t count) const {
    if (at > bytes_.size() || bytes_.size() - at < count) return {};
    std::uint32_t value = 0;
    for (std::size_t i = 0; i < count; ++i) {
      const std::size_t shift = 8 * (little_ ? i : count - 1 - i);
      value |= std::to_integer<std::uint32_t>(bytes_[at + i]) << shift;
    }
    return value;
  }

  std::span<const std::byte> bytes_;
  bool little_ = true;
  std::size_t first_ = 0;
  std::size_t entries_ = 0;
};

bool has_text(std::span<const std::byte> bytes, std::size_t at, std::string_view text) {
  return bytes.size() >= at + text.size() &&
         std::equal(text.begin(), text.end(), bytes.begin() + static_cast<std::ptrdiff_t>(at),
                    [](char c, std::byte b) { return std::to_integer<char>(b) == c; });
}

}  // namespace

bool is_camera_raw(std::span<const std::byte> bytes) {
  using namespace std::string_view_literals;
  // Makers' own containers: the ISO media file with a raw brand, and TIFF under other numbers.
  if (has_text(bytes, 4, "ftypcrx"sv) || has_text(bytes, 8, "CCD-RAW"sv)) return true;
  for (const std::string_view start :
       {"IIRO"sv, "IIRS"sv, "MMOR"sv, "IIU\0"sv, "\0MRM"sv, "FOVb"sv, "II\x1A\0\0\0HEAPCCDR"sv}) {
    if (has_text(bytes, 0, start)) return true;
  }
  if (!has_text(bytes, 0, "II*\0"sv) && !has_text(bytes, 0, "MM\0*"sv)) return false;
  if (has_text(bytes, 8, "CR\x02"sv)) return true;
  const TiffHead head(bytes);
  if (head.field(dng_version)) return true;
  const auto kind = head.field(photometric_interpretation);
  if (kind == colour_filter_array || kind == linear_raw) return true;
  // A first picture that says it is a small copy, with others below it: the sensor's are there.
  return (head.field(new_subfile_type).value_or(0) & 1U) != 0 && head.field(sub_directories);
}

}  // namespace mamelon::detail
