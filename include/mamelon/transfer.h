#pragma once
/// @file
/// From the readings of one instrument to those another would give.

#include <cstddef>
#include <limits>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "mamelon/tabs.h"

namespace mamelon {

/// In order of simplicity; what each one fits: nothing, three shifts, a shift and a scale for each
/// of L*, a*, b*, a full linear map and a shift.
enum class TransferForm { none, offset, diagonal, affine };
[[nodiscard]] std::string_view to_string(TransferForm form);

struct TransferScore {
  TransferForm form = TransferForm::none;
  double de00 = 0;            ///< root mean square ΔE00 of tabs left out of the fit
  double standard_error = 0;  ///< of its square's mean, against the best form's
};

/// to = matrix · from + offset.
struct Transfer {
  TransferForm form = TransferForm::none;
  Mat3 matrix{};
  Vec3 offset{};
  std::string from;  ///< names of the instruments, as given
  std::string to;
  std::size_t tabs = 0;
  double residual_de00 = 0;  ///< root mean square over tabs left out of the fit
  double worst_de00 = 0;
  Mat3 residual{};  ///< covariance of what the transfer leaves for a new colour
  double residual_dof = std::numeric_limits<double>::infinity();  ///< behind `residual`
  /// Of no curvature: the chance of squares of L*, a* or b* explaining this much of the residuals
  /// of the full linear map, held to over all three (Holm). 1 with fewer than 9 tabs.
  double curvature_p_value = 1;
  std::vector<TransferScore> scores;
  Vec3 centre{};          ///< of the fitted tabs, as `from` read them
  Mat3 inverse_spread{};  ///< inverse of Σ (from − centre)(from − centre)ᵀ, as the form uses it
  Vec3 low{};             ///< range of the fitted tabs as `from` read them
  Vec3 high{};
  Viewing viewing;
  std::vector<std::string> warnings;
  Provenance provenance;
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
