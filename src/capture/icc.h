#pragma once
// ICC profiles, with the colour engine behind one door.

#include <array>
#include <cstddef>
#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "mamelon/colour.h"

namespace mamelon::detail {

// What an embedded profile says about turning the file's numbers into linear light.
class IccProfile {
 public:
  // Throws DataError for a malformed profile and CaptureError for one that is not of RGB data.
  IccProfile(std::span<const std::uint8_t> bytes, const std::string& source);
  ~IccProfile();
  IccProfile(const IccProfile&) = delete;
  IccProfile& operator=(const IccProfile&) = delete;

  [[nodiscard]] const std::string& description() const { return description_; }
  // True for a matrix and three curves: the pixels stay in the file's own primaries. False for a
  // profile made of tables: the pixels go to the linear wide space of `to_wide_linear`.
  [[nodiscard]] bool is_matrix() const { return is_matrix_; }
  // A matrix profile whose curves are straight lines.
  [[nodiscard]] bool is_linear() const;
  // Matrix profiles: light 0–1 of code i of `levels` equally spaced ones, for R, G, B. Throws
  // DataError for a curve that leaves that range.
  [[nodiscard]] std::array<std::vector<double>, 3> curves(std::size_t levels) const;
  // Table profiles: `count` pixels of 16-bit codes to linear light in the primaries of ISO 22028-2
  // (ROMM RGB), relative colorimetric. Safe to call from several threads.
  void to_wide_linear(const std::uint16_t* codes, std::uint16_t* light, std::size_t count) const;

 private:
  struct Engine;
  std::unique_ptr<Engine> engine_;
  std::string source_;
  std::string description_;
  bool is_matrix_ = false;
};

// An input profile to be written: curves and a matrix, or curves and a table of colours.
struct ProfileContent {
  std::string description;
  Mat3 adaptation{};  // from the white that colours were seen under to D50
  // Equally spaced codes 0–1 to light 0–1, or to the table's axes 0–1.
  std::array<std::vector<double>, 3> curves;
  std::optional<Mat3> matrix;        // light to tristimulus values under D50
  std::size_t table_points = 0;      // along each axis; R varies slowest
  std::vector<std::uint16_t> table;  // CIELAB in the 16-bit encoding of ICC.1 version 4
};

// The same content gives the same bytes. Throws CaptureError with the engine's words.
std::vector<std::uint8_t> write_profile(const ProfileContent& content);

// CIELAB under D50 of codes 0–1, by the engine.
std::vector<Lab> lab_through_profile(std::span<const std::uint8_t> profile,
                                     std::span<const Vec3> codes);

}  // namespace mamelon::detail
