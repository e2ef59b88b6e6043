#include "mamelon/provenance.h"

#include "base/sha256.h"

namespace mamelon {

std::string_view library_version() noexcept {
  return MAMELON_VERSION;
}

std::string sha256_hex(std::span<const std::byte> bytes) {
  constexpr std::string_view digits = "0123456789abcdef";
  std::string text;
  for (const std::uint8_t byte : detail::sha256(bytes)) {
    text += digits[byte >> 4U];
    text += digits[byte & 15U];
  }
  return text;
}

std::string sha256_hex(std::string_view text) {
  return sha256_hex(std::as_bytes(std::span(text.data(), text.size())));
}

Provenance make_provenance(std::string_view step, std::string_view settings,
                           std::vector<std::string> inputs) {
  // Length prefixes keep two different records from joining into the same text.
  std::string record;
  const auto append = [&record](std::string_view part) {
    record += std::to_string(part.size());
    record += ':';
    record += part;
    record += '\n';
  };
  append(library_version());
  append(step);
  append(settings);
  for (const std::string& input : inputs) append(input);
  return {std::string(step), std::string(settings), std::move(inputs), sha256_hex(record)};
}

}  // namespace mamelon
