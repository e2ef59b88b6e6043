#pragma once
// What every fit asks of its drawdowns.

#include <span>

#include "mamelon/drawdown.h"

namespace mamelon::detail {

// Whether what the instrument lights and sees counts and is not stated.
bool has_open_aperture(const Drawdown& drawdown);

// Throw as `fit_paste` says.
void check_drawdowns(std::span<const Drawdown> drawdowns, const PasteFitOptions& options);
void check_options(const PasteFitOptions& options);

}  // namespace mamelon::detail
