#include "mamelon/card.h"

#include <algorithm>
#include <cmath>

#include "mamelon/difference.h"
#include "mamelon/error.h"

#include "base/numbers.h"
#include "capture/algebra.h"
#include "capture/calibration.h"

namespace mamelon {
namespace {

using detail::Calibration;
using detail::CardSamples;
using detail::list_of;
using detail::names_with_reason;

void check_card(const Card& card) {
  if (card.patches.empty()) throw ArgumentError("card '" + card.name + "' has no patches");
  for (const Patch& p : card.patches) {
    if (!p.lab && !p.reflectance) {
      throw ArgumentError("patch '" + p.name + "' of card '" + card.name +
                          "' has neither a Lab nor a reflectance");
    }
  }
}

// Writes fitted colours and errors of the used patches; the white base, where it trained, is last.
void describe_patches(const Calibration& c, CardFit& fit) {
  std::size_t at = 0;
  std::vector<double> loo;
  for (PatchFit& p : fit.patches) {
    if (!p.used) continue;
    p.fitted =
        to_lab(detail::to_xyz(c.map->of_patch(c.training.patches[at]).xyz), c.training.white);
    p.de00 = de00(p.reference, p.fitted);
    // A grey card has nothing to leave out: its error is its fit's.
    const Eigen::Vector3d e =
        c.errors.empty()
            ? Eigen::Vector3d(detail::to_eigen(p.fitted) - detail::to_eigen(p.reference))
            : c.errors[at].error;
    p.loo_de00 =
        de00(p.reference, {p.reference.l + e[0], p.reference.a + e[1], p.reference.b + e[2]});
    loo.push_back(p.loo_de00);
    ++at;
  }
  if (loo.empty()) return;
  std::sort(loo.begin(), loo.end());
  fit.loo_de00_max = loo.back();
  fit.loo_de00_median = (loo[(loo.size() - 1) / 2] + loo[loo.size() / 2]) / 2;
}

// A card that is not the one defined shows patches far from their colours whatever the camera.
void check_agreement(const Card& card, const Calibration& c, const CardFit& fit) {
  // The average camera may be that far off at strong colours.
  if (c.method == CorrectionMethod::grey) return;
  std::vector<const PatchFit*> far;
  std::size_t used = 0;
  for (const PatchFit& p : fit.patches) {
    if (!p.used) continue;
    ++used;
    if (p.de00 > 3) far.push_back(&p);
  }
  if (3 * far.size() <= used) return;
  std::sort(far.begin(), far.end(),
            [](const PatchFit* a, const PatchFit* b) { return a->de00 > b->de00; });
  std::string table;
  for (const PatchFit* p : far) {
    table += (table.empty() ? "" : ", ") + p->name + " " + detail::format_fixed(p->de00, 1);
  }
  throw CaptureError("the patches do not agree with the definition of card '" + card.name +
                     "': wrong card, or strongly uneven light; ΔE00 of " + table);
}

void warn_of_patches(const CardSamples& samples, const Calibration& c, CardFit& fit) {
  for (const std::string_view reason : {"clipped", "too dark", "too few pixels"}) {
    const auto names = names_with_reason(samples, reason);
    if (!names.empty()) {
      fit.warnings.push_back("patches left out (" + std::string(reason) + "): " + list_of(names));
    }
  }
  std::vector<std::string> odd;
  for (const PatchFit& p : fit.patches) {
    if (p.used && p.loo_de00 > std::max(5.0, 8 * fit.loo_de00_median)) odd.push_back(p.name);
  }
  if (!odd.empty()) {
    fit.warnings.push_back("patches that do not fit the others (dirty, shaded or glinting?): " +
                           list_of(odd));
  }
  // The ends of a tone curve disagree with any card.
  if (c.method == CorrectionMethod::response_estimate && !c.tone &&
      c.disagreement > detail::disagreement_limit) {
    fit.warnings.emplace_back(
        "the patches' stated spectra do not explain what the photo shows (metameric patches, or "
        "measured on another card?): the interval is widened");
  }
}

void warn_of_light(const Photo& photo, const Card& card, const Calibration& c, CardFit& fit) {
  if (c.light.is_flat()) {
    fit.warnings.emplace_back(
        "too few white samples to see whether the light is even: lightness may be off");
  } else if (c.light.residual_rms() > 0.02) {
    fit.warnings.emplace_back("the light on the card varies more than a smooth field explains");
  }
  if (photo.encoding == Encoding::camera_rendering) {
    fit.warnings.emplace_back(
        "a camera's own rendering is known only through the neutral patches; a raw, linear or "
        "unrendered sRGB export measures far better");
  }
  if (c.method == CorrectionMethod::grey) {
    fit.warnings.emplace_back(
        "only grey patches: the average camera stands for this one, with a wide interval");
  }
  const auto scale = detail::local_scale(fit.mm_to_px, {card.width_mm / 2, card.height_mm / 2});
  if (scale.smallest < 0.87 * scale.largest) {
    fit.warnings.emplace_back("the card is tilted by more than about 30° to the camera");
  }
  if (scale.smallest < 12) {
    fit.warnings.push_back(
        "the card is far from the camera: " + detail::format_fixed(scale.smallest, 1) +
        " pixels a millimetre, 12 or more are wanted");
  }
}

std::vector<WhiteArea> parts_of(const Card& card) {
  std::vector<WhiteArea> parts = card.white_areas;
  for (const Fiducial& f : card.fiducials) parts.push_back({f.x_mm, f.y_mm, f.size_mm, f.size_mm});
  for (const Patch& p : card.patches) parts.push_back({p.x_mm, p.y_mm, p.width_mm, p.height_mm});
  return parts;
}

std::string settings_of(const Viewing& viewing, const CardFitOptions& options) {
  std::string text = "viewing=" + to_string(viewing);
  if (options.method) text += ";method=" + std::string(to_string(*options.method));
  if (options.corners_px) {
    text += ";corners=";
    for (const PointPx& p : *options.corners_px) {
      text += detail::format_number(p.x) + "," + detail::format_number(p.y) + " ";
    }
  }
  for (const std::string& name : options.exclude) text += ";exclude=" + name;
  return text;
}

}  // namespace

std::string_view to_string(CorrectionMethod method) {
  switch (method) {
    case CorrectionMethod::response_estimate:
      return "response estimate";
    case CorrectionMethod::matrix:
      return "matrix";
    case CorrectionMethod::root_polynomial:
      return "root polynomial";
    case CorrectionMethod::grey:
      return "grey";
  }
  throw ArgumentError("unknown correction method");
}

Lab patch_lab(const Card& card, const Patch& patch, const Viewing& viewing) {
  if (patch.reflectance) return to_lab(*patch.reflectance, viewing);
  check_same_viewing(card.viewing, viewing,
                     "patch '" + patch.name + "' of card '" + card.name + "', known as Lab only");
  if (!patch.lab) {
    throw ArgumentError("patch '" + patch.name + "' of card '" + card.name +
                        "' has neither a Lab nor a reflectance");
  }
  return *patch.lab;
}

CardFit fit_card(const Photo& photo, const Card& card, const Viewing& viewing,
                 const CardFitOptions& options) {
  check_card(card);
  const detail::CardPose pose = options.corners_px
                                    ? detail::pose_from_corners(photo, card, *options.corners_px)
                                    : detail::find_card(photo, card);
  CardSamples samples = detail::sample_card(photo, card, pose, options);
  for (std::size_t i = 0; i < card.patches.size(); ++i) {
    samples.patches[i].reference = patch_lab(card, card.patches[i], viewing);
  }
  Calibration c = detail::calibrate(samples, card, photo.encoding, viewing, options);

  CardFit fit{.mm_to_px = pose.mm_to_px,
              .card_width_mm = card.width_mm,
              .card_height_mm = card.height_mm,
              .card_parts = parts_of(card),
              .reprojection_rms_px = pose.reprojection_rms_px,
              .patches = samples.patches,
              .correction = nullptr,
              .viewing = viewing,
              .warnings = {},
              .provenance = make_provenance("fit_card", settings_of(viewing, options),
                                            {photo.provenance.digest, card.provenance.digest})};
  describe_patches(c, fit);
  check_agreement(card, c, fit);
  warn_of_patches(samples, c, fit);
  warn_of_light(photo, card, c, fit);
  fit.correction = std::make_shared<detail::FittedCorrection>(
      detail::FittedCorrection::Parts{.method = c.method,
                                      .light = c.light,
                                      .tone = std::move(c.tone),
                                      .map = std::move(c.map),
                                      .second_opinion = std::move(c.second_opinion),
                                      .white = c.training.white,
                                      .errors = std::move(c.errors),
                                      .error_model = c.error_model});
  return fit;
}

}  // namespace mamelon
