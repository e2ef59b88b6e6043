#pragma once
// Fits under what the drawdowns leave open, and why readings may not fit together.

#include <optional>
#include <span>
#include <string>

#include "mamelon/drawdown.h"

namespace mamelon::detail {

// Drawdowns without an aperture are fitted under each of the usual ones and averaged.
PasteFit fit_under_usual_apertures(std::span<const Drawdown> drawdowns,
                                   const PasteFitOptions& options);

// A change of the description under which the readings fit together better.
struct Cause {
  std::string text;       // "the specimens lie across an air gap"
  double chi_square = 0;  // of readings and expectations, were it so
};
// The change that helps most; nothing when none leaves less than `misfit`.
std::optional<Cause> likeliest_cause(std::span<const Drawdown> drawdowns,
                                     const PasteFitOptions& options, double misfit);

}  // namespace mamelon::detail
