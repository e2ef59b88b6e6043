#pragma once
/// @file
/// The fitted correction of a photo as an ICC profile, for other programs.

#include <cstddef>
#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "mamelon/card.h"

namespace mamelon {

/// An ICC.1 version 4 input profile: from the file's R, G, B to CIELAB.
struct InputProfile {
  std::vector<std::uint8_t> bytes;  ///< of the file
  std::string description;          ///< as in the profile, with the accuracy of the card's fit
  bool is_matrix = false;  ///< curves and a matrix; else curves and a table of 21³ colours
  double de00_median = 0;  ///< profile against correction, over the colours of the card's patches
  double de00_max = 0;     ///< the largest
};

/// The profile of what `fit` does at the card's centre to the codes of the file that it was fitted
/// in: a profile knows no places, so the evening out of the light over the photo is not in it. Its
/// colours are relative to the white of the fit's viewing, adapted to D50 by Bradford's transform
/// where that is another; a fit under D50/2 needs none. Colours lighter than the perfect diffuser
/// are cut off at L* 100. Throws ArgumentError for a viewing of the 10° observer, which ICC
/// profiles do not have, or for a photo whose own profile is made of tables, and what decode_photo
/// throws.
[[nodiscard]] InputProfile input_profile(std::span<const std::byte> photo_file,
                                         std::string_view source, const CardFit& fit,
                                         const std::string& card_name);

}  // namespace mamelon
