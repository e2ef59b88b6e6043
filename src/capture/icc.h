#pragma once
// ICC profiles, with the colour engine behind one door.

#include <array>
#include <cstddef>
#include <cstdint>
#include <memory>
#include <span>
#include <string>
#include <vector>

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
  // Matrix profiles: light 0–1 of code i of `levels` equally spaced ones, for R, G, B.
  [[nodiscard]] std::array<std::vector<double>, 3> curves(std::size_t levels) const;
  // Table profiles: `count` pixels of 16-bit codes to linear light in the primaries of ISO 22028-2
  // (ROMM RGB), relative colorimetric. Safe to call from several threads.
  void to_wide_linear(const std::uint16_t* codes, std::uint16_t* light, std::size_t count) const;

 private:
  struct Engine;
  std::unique_ptr<Engine> engine_;
  std::string description_;
  bool is_matrix_ = false;
};

}  // namespace mamelon::detail
