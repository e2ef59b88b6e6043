#pragma once
// Fits under what the drawdowns leave open, and why readings may not fit together.

#include <optional>
#include <span>
#include <string>

#include "mamelon/drawdown.h"

namespace mamelon::detail {

// By transport: under instruments that keep their scale and that do not, and, for drawdowns without
// an aperture, under each of the usual ones; averaged by how well each explains the readings.
PasteFit fit_openly(std::span<const Drawdown> drawdowns, const PasteFitOptions& options);

// A change of the description under which the readings fit together better.
struct Cause {
  std::string text;       // "the specimens lie across an air gap"
  double chi_square = 0;  // of readings and expectations, were it so
};
// The change that helps most; nothing when none leaves less than `misfit`.
std::optional<Cause> likeliest_cause(std::span<const Drawdown> drawdowns,
                                     const PasteFitOptions& options, double misfit);

// The same of apertures alone.
std::optional<Cause> smaller_aperture(std::span<const Drawdown> drawdowns,
                                      const PasteFitOptions& options, double misfit);

// An aperture under which, read by an instrument that keeps its scale, the readings are more
// probable than as they are described, by any instrument; by `clearly` or more of −2 ln.
std::optional<Cause> likelier_aperture(std::span<const Drawdown> drawdowns,
                                       const PasteFitOptions& options, double clearly);

// Chi-square of readings and expectations under the description as it stands, of an instrument that
// does not keep its scale.
double misfit_as_stated(std::span<const Drawdown> drawdowns, const PasteFitOptions& options);

}  // namespace mamelon::detail
