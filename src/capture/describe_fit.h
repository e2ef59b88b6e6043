#pragma once
// What a fitted map says of the patches it was made from.

#include <string>

#include "capture/card_map.h"

namespace mamelon::detail {

// Writes fitted colours and errors of the used patches; the white base, where it trained, is last
// and is left out.
void describe_patches(const CardMap& c, CardFit& fit);

// A card that is not the one defined shows patches far from their colours whatever the camera:
// throws CaptureError with a table of them. `with` says what they should agree with.
void check_agreement(const std::string& with, const CardMap& c, const CardFit& fit);

}  // namespace mamelon::detail
