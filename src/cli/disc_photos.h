#pragma once
// Cured discs in photos, with the card in the frame, as drawdowns.

#include <string>
#include <vector>

#include "mamelon/mamelon.h"

#include "cli/photo_options.h"

namespace mamelon::cli {

// The rows of a table photo,specimen,thickness_mm,thickness_sd_mm,backing,x,y,width,height (pixels
// of a box within the disc, or within a bare backing where there is no specimen) as colours read
// from the photos, which stand beside the table. Throws ArgumentError, DataError and CaptureError.
std::vector<Drawdown> drawdowns_in_photos(const std::string& table, const PhotoOptionsText& options,
                                          const Viewing& viewing,
                                          std::vector<std::string>& warnings);

}  // namespace mamelon::cli
