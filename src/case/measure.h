#pragma once
// From the photo and the readings of a case to what is read of each tooth.

#include "mamelon/report.h"
#include "mamelon/solve.h"

namespace mamelon::detail {

// Throws StoppedError where `progress` says so.
void step(const SolveProgress& progress, double share, std::string_view what);

// Photo, fit and teeth of the report.
void measure(const Case& given, const SolveProgress& progress, Report& report, SolveMemory* memory);

// Throws ArgumentError for a mask that has not the photo's size.
void check_mask(const Mask& mask, const Photo& photo, const std::string& name);

// The fit of a photo by the case's card, with or without the tabs that stand in it, or by these
// alone.
std::shared_ptr<const CardFit> fit_of(const Case& given, const CasePhoto& file, const Photo& photo,
                                      bool with_tabs, SolveMemory* memory);

}  // namespace mamelon::detail
