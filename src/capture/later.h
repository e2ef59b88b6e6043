#pragma once
// Readings of a photo without a card, by a fit that was kept.

#include "mamelon/card.h"
#include "mamelon/kept_fit.h"

namespace mamelon::detail {

// The fit of the photo that `kept` was made from, for readings under `viewing`. Throws as
// `fit_card`, and ArgumentError for a value that cannot be true.
CardFit fit_again(const KeptFit& kept, const Viewing& viewing);

// Warns where `fit` is of an earlier photo and the colour is one that surfaces of the reading's
// kind hardly have: the light may be another one.
void warn_of_unlikely_colour(const CardFit& fit, Reading& reading);

}  // namespace mamelon::detail
