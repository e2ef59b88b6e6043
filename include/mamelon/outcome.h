#pragma once
/// @file
/// What came of a plan: a try-in or a finished restoration beside its target and its prediction.

#include <optional>
#include <string>
#include <vector>

#include "mamelon/solve.h"

namespace mamelon {

/// A try-in beside what it was to be. Differences are the try-in less the target, or less the
/// prediction; their intervals count all errors of the try-in's reading, and the target's, as if
/// the two readings had none in common, which makes them rather too wide for two photos by one
/// camera under one light. The prediction is taken as it is: how far it may be off stands in
/// `stated_p95`.
struct TryInReport {
  Reading seen;                  ///< the zone that was planned for, as it looks now
  std::optional<Zones> zones{};  ///< of a photo: where that was read
  RankedTab to_target;           ///< `tab` is "target"
  /// `tab` is "prediction"; none where the case has no plan or the layers are not known.
  std::optional<RankedTab> to_prediction{};
  std::optional<Lab> predicted{};       ///< of the layers as placed
  std::optional<double> stated_p95{};   ///< 19 of 20 such fillings were to come nearer the target
  std::string verdict{};                ///< what this says of the plan, in a sentence
  std::vector<std::string> cautions{};  ///< what curing and dryness do to such a reading
};
template <>
struct Fields<TryInReport> {
  static constexpr const char* name = "TryInReport";
  static TryInReport blank() { return {.seen = mamelon::blank<Reading>(), .to_target = {}}; }
  static constexpr auto all() {
    using T = TryInReport;
    return FieldList{
        needed("seen", &T::seen, "the zone that was planned for, as it looks now"),
        field("zones", &T::zones, "of a photo: where that was read"),
        needed("to_target", &T::to_target, "the try-in less the target"),
        field("to_prediction", &T::to_prediction,
              "the try-in less the prediction; None without a plan or layers"),
        field("predicted", &T::predicted, "colour of the layers as placed"),
        field("stated_p95", &T::stated_p95,
              "19 of 20 such fillings were to come nearer the target than this ΔE00"),
        field("verdict", &T::verdict, "what this says of the plan"),
        field("cautions", &T::cautions, "what curing and dryness do to such a reading")};
  }
};

/// Reads a try-in of a case and holds it against the case's report. A photo is read with the case's
/// card, in the same zone. Throws ArgumentError where the try-in has not one of photo and reading,
/// or is no reading of that zone or of the case's viewing, and as `solve` does.
[[nodiscard]] TryInReport compare_try_in(const Case& given, const Report& report,
                                         const TryIn& try_in, SolveMemory* memory = nullptr);

}  // namespace mamelon
