#pragma once
/// @file
/// A hash chain that says how a value was made, without clocks, hosts or paths.

#include <cstddef>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "mamelon/description.h"

namespace mamelon {

/// Version of the library, `major.minor.patch`.
[[nodiscard]] std::string_view library_version() noexcept;

/// SHA-256 (FIPS 180-4) of `bytes` as 64 lower-case hexadecimal digits.
[[nodiscard]] std::string sha256_hex(std::span<const std::byte> bytes);
[[nodiscard]] std::string sha256_hex(std::string_view text);

/// One link: the step that made a value, its settings, and the digests of what went in.
/// Two values with equal `digest` were made by the same step of the same library version from
/// the same inputs with the same settings.
struct Provenance {
  std::string step;
  std::string settings;
  std::vector<std::string> inputs;
  std::string digest;

  friend bool operator==(const Provenance&, const Provenance&) = default;
};
template <>
struct Fields<Provenance> {
  static constexpr const char* name = "Provenance";
  static constexpr auto all() {
    return FieldList{
        field("step", &Provenance::step, "the step that made the value"),
        field("settings", &Provenance::settings, "canonical text of every argument that matters"),
        field("inputs", &Provenance::inputs, "digests of what went in"),
        field("digest", &Provenance::digest, "SHA-256 of the above and of the library's version")};
  }
};

/// Makes the link for `step`. `settings` is canonical text of every argument that matters;
/// `inputs` are digests (of files, tables or earlier links) in a fixed order.
[[nodiscard]] Provenance make_provenance(std::string_view step, std::string_view settings,
                                         std::vector<std::string> inputs);

}  // namespace mamelon
