#pragma once
/// @file
/// From the readings of one instrument to those another would give.

#include <cstddef>
#include <limits>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "mamelon/description.h"
#include "mamelon/tabs.h"

namespace mamelon {

/// In order of simplicity; what each one fits: nothing, three shifts, a shift and a scale for each
/// of L*, a*, b*, a full linear map and a shift.
enum class TransferForm { none, offset, diagonal, affine };
template <>
struct Words<TransferForm> {
  static constexpr const char* name = "TransferForm";
  static constexpr auto words = words_of("none", "offset", "diagonal", "affine");
};

/// How well one form of a transfer foretells readings left out of it.
struct TransferScore {
  TransferForm form = TransferForm::none;
  double de00 = 0;
  double standard_error = 0;
};
template <>
struct Fields<TransferScore> {
  static constexpr const char* name = "TransferScore";
  static constexpr auto all() {
    using T = TransferScore;
    return FieldList{
        needed("form", &T::form, "of the map"),
        needed("de00", &T::de00, "root mean square ΔE00 of tabs left out of the fit"),
        field("standard_error", &T::standard_error, "of its mean square, against the best form's")};
  }
};

/// to = matrix · from + offset.
struct Transfer {
  TransferForm form = TransferForm::none;
  Mat3 matrix{};
  Vec3 offset{};
  std::string from;
  std::string to;
  std::size_t tabs = 0;
  double residual_de00 = 0;
  double worst_de00 = 0;
  Mat3 residual{};
  double residual_dof = std::numeric_limits<double>::infinity();
  /// Of no curvature: the chance of squares of L*, a* or b* explaining this much of the residuals
  /// of the full linear map, held to over all three (Holm). 1 with fewer than 9 tabs.
  double curvature_p_value = 1;
  std::vector<TransferScore> scores;
  Vec3 centre{};
  Mat3 inverse_spread{};
  Vec3 low{};
  Vec3 high{};
  Viewing viewing;
  std::vector<std::string> warnings;
  Provenance provenance;
};
template <>
struct Fields<Transfer> {
  static constexpr const char* name = "Transfer";
  static Transfer blank() {
    return {.from = {},
            .to = {},
            .scores = {},
            .viewing = mamelon::blank<Viewing>(),
            .warnings = {},
            .provenance = {}};
  }
  static constexpr auto all() {
    using T = Transfer;
    return FieldList{
        needed("form", &T::form, "none, offset, diagonal or affine"),
        needed("matrix", &T::matrix, "3×3: to = matrix · from + offset"),
        needed("offset", &T::offset, "of three numbers"),
        needed("viewing", &T::viewing, "of both instruments"),
        field("from_", &T::from, "name of the first instrument's set"),
        field("to", &T::to, "name of the other instrument's set"),
        field("tabs", &T::tabs, "number of tabs in both sets"),
        field("residual_de00", &T::residual_de00, "root mean square over tabs left out of the fit"),
        field("worst_de00", &T::worst_de00, "largest over tabs left out of the fit"),
        field("residual", &T::residual, "covariance of what the transfer leaves for a new colour"),
        field("scores", &T::scores, "of every form that was tried"),
        field("centre", &T::centre, "of the fitted tabs, as the first instrument read them"),
        field("inverse_spread", &T::inverse_spread,
              "inverse of Σ (from − centre)(from − centre)ᵀ, as the form uses it"),
        field("low", &T::low, "lower end of the range of the fitted tabs"),
        field("high", &T::high, "upper end of the range of the fitted tabs"),
        field("residual_dof", &T::residual_dof, "degrees of freedom behind the residual"),
        field("curvature_p_value", &T::curvature_p_value, "of no curvature in the residuals"),
        field("warnings", &T::warnings, "what to know before using it"),
        field("provenance", &T::provenance, "how it was made")};
  }
};

/// Fits the simplest form whose leave-one-out ΔE00 lies within one standard error of the best
/// form's (the rule of Breiman et al. 1984). Tabs are paired by name; each set is what one
/// instrument read. Throws ArgumentError for mixed viewings, ModelError where the data cannot
/// support a transfer: fewer than 4 tabs in common, or none of the forms predicts a tab left out
/// within the acceptability threshold.
[[nodiscard]] Transfer fit_transfer(const TabSet& from, const TabSet& to);

/// What the other instrument would read. Random and shared covariance are carried through the
/// map. What the transfer leaves is each colour's own and goes to the random part, with its degrees
/// of freedom; of a set, the uncertainty of the map's shift is common to all tabs and goes to the
/// shared part. Carry means, not single repeats: what the transfer leaves of a colour does not
/// shrink with repeats of it.
/// The reading carries a warning outside the range of colours that the transfer was fitted on.
/// Throws ArgumentError for another viewing than the transfer's.
[[nodiscard]] Reading apply(const Transfer& transfer, const Reading& reading);
[[nodiscard]] TabSet apply(const Transfer& transfer, const TabSet& tabs);

/// The chance of an error in L*, a*, b* together at least as far out as the one to `truth`, by
/// Hotelling's T² on `measured.dof`: `truth` lies within the joint 95 % region where it is 0.05 or
/// more. 1 below 3 degrees of freedom, which show no region. Throws ArgumentError for a covariance
/// of zero.
[[nodiscard]] double joint_p_value(const Measured<Lab>& measured, const Lab& truth);

}  // namespace mamelon
