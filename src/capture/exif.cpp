#include "capture/exif.h"

#include <cstdint>
#include <string>

#include "mamelon/provenance.h"

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

  // Printable text of ASCII, up to its first zero and without blanks at its end.
  [[nodiscard]] std::string text(std::size_t at, std::size_t size) const {
    std::string out;
    for (std::size_t i = 0; i < size && at + i < bytes_.size(); ++i) {
      const auto c = std::to_integer<unsigned char>(bytes_[at + i]);
      if (c == 0) break;
      out.push_back(c >= 0x20 && c < 0x7F ? static_cast<char>(c) : ' ');
    }
    out.erase(out.find_last_not_of(' ') + 1);
    return out;
  }

 private:
  std::span<const std::byte> bytes_;
  bool little_;
};

constexpr std::uint32_t tag_orientation = 0x0112;
constexpr std::uint32_t tag_exif_directory = 0x8769;
constexpr std::uint32_t tag_colour_space = 0xA001;
constexpr std::uint32_t tag_make = 0x010F;
constexpr std::uint32_t tag_model = 0x0110;
constexpr std::uint32_t tag_exposure_time = 0x829A;
constexpr std::uint32_t tag_f_number = 0x829D;
constexpr std::uint32_t tag_sensitivity = 0x8827;
constexpr std::uint32_t tag_taken = 0x9003;
constexpr std::uint32_t tag_white_balance = 0xA403;
constexpr std::uint32_t type_text = 2;
constexpr std::uint32_t type_short = 3;
constexpr std::uint32_t type_long = 4;
constexpr std::uint32_t type_rational = 5;

// One entry of a directory; `at` is where its value or the value's offset stands.
struct Entry {
  std::uint32_t tag;
  std::uint32_t type;
  std::uint32_t count;
  std::size_t at;
};

// Up to 100 bytes; more is no name.
std::string text_of(const Block& block, const Entry& entry) {
  if (entry.type != type_text || entry.count > 100) return {};
  if (entry.count <= 4) return block.text(entry.at, entry.count);
  const auto offset = block.number(entry.at, 4);
  return offset ? block.text(*offset, entry.count) : std::string();
}

// A number above 0.
std::optional<double> number_of(const Block& block, const Entry& entry) {
  if (entry.count < 1) return std::nullopt;
  std::optional<std::uint32_t> above;
  std::optional<std::uint32_t> below = 1;
  if (entry.type == type_rational) {
    const std::size_t offset = block.number(entry.at, 4).value_or(UINT32_MAX);
    above = block.number(offset, 4);
    below = block.number(offset + 4, 4);
  } else if (entry.type == type_short || entry.type == type_long) {
    above = block.number(entry.at, entry.type == type_short ? 2 : 4);
  }
  if (!above || !below || *above == 0 || *below == 0) return std::nullopt;
  const double number = static_cast<double>(*above) / static_cast<double>(*below);
  return number <= 1e6 ? std::optional(number) : std::nullopt;
}

// "2026:11:29 10:20:30" as ISO 8601 writes a date; empty for anything else.
std::string date_of(const std::string& text) {
  constexpr std::string_view form = "dddd:dd:dd dd:dd:dd";
  if (text.size() != form.size()) return {};
  for (std::size_t i = 0; i < form.size(); ++i) {
    const bool digit = text[i] >= '0' && text[i] <= '9';
    if (form[i] == 'd' ? !digit : text[i] != form[i]) return {};
  }
  std::string date = text;
  date[4] = date[7] = '-';
  return date;
}

void read_setting(const Block& block, const Entry& entry, CameraSettings& settings) {
  switch (entry.tag) {
    case tag_make:
    case tag_model: {
      // The maker's tag stands first, and some models repeat the maker's name.
      const std::string name = text_of(block, entry);
      if (name.empty()) return;
      if (settings.camera.empty() || name.starts_with(settings.camera)) {
        settings.camera = name;
      } else {
        settings.camera += " " + name;
      }
      return;
    }
    case tag_exposure_time:
      settings.exposure_s = number_of(block, entry);
      return;
    case tag_f_number:
      settings.f_number = number_of(block, entry);
      return;
    case tag_sensitivity:
      settings.iso = number_of(block, entry);
      return;
    case tag_taken:
      settings.taken = date_of(text_of(block, entry));
      return;
    case tag_white_balance:
      if (entry.type == type_short) {
        const std::uint32_t value = block.number(entry.at, 2).value_or(2);
        if (value == 0) settings.white_balance = WhiteBalance::automatic;
        if (value == 1) settings.white_balance = WhiteBalance::fixed;
      }
      return;
    default:
      return;
  }
}

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
    } else {
      read_setting(block, {*tag, *type, *values, entry + 8}, facts.settings);
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
  // Cameras are told apart, but no value names whose it is.
  std::string& camera = facts.settings.camera;
  constexpr std::size_t digits = 16;
  if (!camera.empty()) camera = sha256_hex(camera).substr(0, digits);
  return facts;
}

}  // namespace mamelon::detail
