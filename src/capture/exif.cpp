#include "capture/exif.h"

#include <cstdint>

namespace mamelon::detail {
namespace {

// Bounds-checked numbers of a block in its own byte order.
class Block {
 public:
  Block(std::span<const std::byte> bytes, bool little) : bytes_(bytes), little_(little) {}

  [[nodiscard]] std::optional<std::uint32_t> number(std::size_t at, std::size_t size) const {
    if (at > bytes_.size() || bytes_.size() - at < size) return std::nullopt;
    std::uint32_t value = 0;
    for (std::size_t i = 0; i < size; ++i) {
      const std::size_t k = little_ ? size - 1 - i : i;
      value = (value << 8) | std::to_integer<std::uint32_t>(bytes_[at + k]);
    }
    return value;
  }

 private:
  std::span<const std::byte> bytes_;
  bool little_;
};

constexpr std::uint32_t tag_orientation = 0x0112;
constexpr std::uint32_t tag_exif_directory = 0x8769;
constexpr std::uint32_t tag_colour_space = 0xA001;
constexpr std::uint32_t type_short = 3;
constexpr std::uint32_t type_long = 4;

// Reads one directory; false when it breaks its rules.
bool read_directory(const Block& block, std::size_t at, ExifFacts& facts,
                    std::optional<std::size_t>& sub_directory) {
  const auto count = block.number(at, 2);
  if (!count) return false;
  for (std::size_t i = 0; i < *count; ++i) {
    const std::size_t entry = at + 2 + 12 * i;
    const auto tag = block.number(entry, 2);
    const auto type = block.number(entry + 2, 2);
    const auto values = block.number(entry + 4, 4);
    const auto short_value = block.number(entry + 8, 2);
    const auto long_value = block.number(entry + 8, 4);
    if (!tag || !type || !values || !short_value || !long_value) return false;
    if (*tag == tag_orientation) {
      if (*type != type_short || *values != 1 || *short_value < 1 || *short_value > 8) return false;
      facts.orientation = static_cast<int>(*short_value);
    } else if (*tag == tag_colour_space) {
      if (*type != type_short || *values != 1) return false;
      facts.declared_srgb = *short_value == 1;
    } else if (*tag == tag_exif_directory) {
      if (*type != type_long || *values != 1) return false;
      sub_directory = *long_value;
    }
  }
  return true;
}

}  // namespace

std::optional<ExifFacts> read_exif(std::span<const std::byte> block) {
  if (block.size() < 8) return std::nullopt;
  const auto first = std::to_integer<char>(block[0]);
  if (first != std::to_integer<char>(block[1]) || (first != 'I' && first != 'M')) {
    return std::nullopt;
  }
  const Block numbers(block, first == 'I');
  if (numbers.number(2, 2) != 42U) return std::nullopt;
  const auto directory = numbers.number(4, 4);
  if (!directory) return std::nullopt;
  ExifFacts facts;
  std::optional<std::size_t> sub_directory;
  if (!read_directory(numbers, *directory, facts, sub_directory)) return std::nullopt;
  std::optional<std::size_t> ignored;
  if (sub_directory && !read_directory(numbers, *sub_directory, facts, ignored)) {
    return std::nullopt;
  }
  return facts;
}

}  // namespace mamelon::detail
