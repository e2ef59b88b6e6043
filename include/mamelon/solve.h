#pragma once
/// @file
/// From a case to its report.

#include <functional>
#include <memory>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "mamelon/report.h"

namespace mamelon {

/// Told what is done next and the share of the whole that is done, 0–1; false stops the work.
using SolveProgress = std::function<bool(double share, std::string_view step)>;

/// What solving a case again need not do again: its photos decoded and their cards fitted. It
/// holds what the last case needed and changes no answer.
struct SolveMemory {
  /// Values by the key of what they were made of, the oldest first.
  template <class T>
  using Kept = std::vector<std::pair<std::string, std::shared_ptr<const T>>>;
  Kept<Photo> photos{};  ///< by all that decoding asks
  Kept<CardFit> fits{};  ///< by all that fitting asks
};

/// Reads, ranks and plans: photo, card, each tooth, tabs, floor, layers, in this order. Depends on
/// nothing but the case: no file, clock or setting is read; the same case gives the same report.
/// Throws StoppedError where `progress` says so, and what the steps throw: ArgumentError for a case
/// that `check_case` refuses, DataError and CaptureError for a photo, ModelError for a plan.
[[nodiscard]] Report solve(const Case& given, const SolveProgress& progress = {},
                           SolveMemory* memory = nullptr);

/// A photo and what its card, or the tabs in it, tell of its colours.
struct PhotoWithFit {
  std::shared_ptr<const Photo> photo;  ///< decoded
  std::shared_ptr<const CardFit> fit;  ///< of the card or the tabs in it
};
/// The case's photo of the teeth and the fit of the card or the tabs in it, before a tooth is
/// chosen. Throws as `solve` does.
[[nodiscard]] PhotoWithFit fit_photo(const Case& given, SolveMemory* memory = nullptr);
/// A photo of a case, decoded.
[[nodiscard]] std::shared_ptr<const Photo> decode(const CasePhoto& photo,
                                                  SolveMemory* memory = nullptr);

/// The plan request of a case's restoration, all but its target; a floor in a photo is read with
/// the case's card. What to know of the floor goes to `notes`. Throws as `solve` does.
[[nodiscard]] PlanRequest request_of(const Case& given, std::vector<std::string>& notes,
                                     SolveMemory* memory = nullptr);

/// The table from tab to paste for a case's tabs and restoration. Throws ArgumentError where one is
/// missing, and as `crosswalk` and `solve` do.
[[nodiscard]] CrosswalkReport solve_crosswalk(const Case& given,
                                              const SolveProgress& progress = {});

}  // namespace mamelon
