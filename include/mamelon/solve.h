#pragma once
/// @file
/// From a case to its report.

#include <functional>
#include <string_view>

#include "mamelon/report.h"

namespace mamelon {

/// Told what is done next and the share of the whole that is done, 0–1; false stops the work.
using SolveProgress = std::function<bool(double share, std::string_view step)>;

/// Reads, ranks and plans: photo, card, each tooth, tabs, floor, layers, in this order. Depends on
/// nothing but the case: no file, clock or setting is read; the same case gives the same report.
/// Throws StoppedError where `progress` says so, and what the steps throw: ArgumentError for a case
/// that `check_case` refuses, DataError and CaptureError for a photo, ModelError for a plan.
[[nodiscard]] Report solve(const Case& given, const SolveProgress& progress = {});

/// The plan request of a case's restoration, all but its target; a floor in a photo is read with
/// the case's card. What to know of the floor goes to `notes`. Throws as `solve` does.
[[nodiscard]] PlanRequest request_of(const Case& given, std::vector<std::string>& notes);

/// The table from tab to paste for a case's tabs and restoration. Throws ArgumentError where one is
/// missing, and as `crosswalk` and `solve` do.
[[nodiscard]] CrosswalkReport solve_crosswalk(const Case& given,
                                              const SolveProgress& progress = {});

}  // namespace mamelon
