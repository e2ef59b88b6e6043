#include "mamelon/card.h"

#include <algorithm>
#include <cmath>

#include "mamelon/difference.h"
#include "mamelon/error.h"

#include "base/numbers.h"
#include "capture/algebra.h"
#include "capture/correction.h"
#include "capture/patches.h"
#include "capture/response_map.h"

namespace mamelon {
namespace {

using detail::CardSamples;
using detail::Training;

constexpr std::size_t min_patches_matrix = 6;
constexpr std::size_t min_patches_roots = 16;

void check_card(const Card& card) {
  if (card.patches.empty()) throw ArgumentError("card '" + card.name + "' has no patches");
  for (const Patch& p : card.patches) {
    if (!p.lab && !p.reflectance) {
      throw ArgumentError("patch '" + p.name + "' of card '" + card.name +
                          "' has neither a Lab nor a reflectance");
    }
  }
}

std::string list_of(const std::vector<std::string>& names) {
  std::string text;
  for (const std::string& name : names) text += (text.empty() ? "" : ", ") + name;
  return text;
}

std::vector<std::string> names_with_reason(const CardSamples& samples, std::string_view reason) {
  std::vector<std::string> names;
  for (const PatchFit& p : samples.patches) {
    if (p.reason == reason) names.push_back(p.name);
  }
  return names;
}

void check_enough(const CardSamples& samples, std::size_t used, std::size_t needed) {
  if (used >= needed) return;
  const std::string counts =
      std::to_string(used) + " patches can be used and " + std::to_string(needed) + " are needed";
  const auto clipped = names_with_reason(samples, "clipped");
  if (!clipped.empty()) {
    throw CaptureError("the photo is over-exposed: " + counts + "; clipped: " + list_of(clipped));
  }
  const auto dark = names_with_reason(samples, "too dark");
  if (!dark.empty()) {
    throw CaptureError("the photo is under-exposed: " + counts + "; too dark: " + list_of(dark));
  }
  throw CaptureError("the card offers too little: " + counts);
}

struct Choice {
  CorrectionMethod method;
  detail::MapFitter fit;
};

Choice choose_method(const Training& training, const CardSamples& samples,
                     const CardFitOptions& options) {
  const std::size_t n = training.patches.size();
  const bool all_spectra =
      std::all_of(training.patches.begin(), training.patches.end(),
                  [](const detail::TrainingPatch& p) { return p.reflectance.size() > 0; });
  const CorrectionMethod best =
      all_spectra ? CorrectionMethod::response_estimate : CorrectionMethod::matrix;
  const CorrectionMethod method = options.method.value_or(best);
  switch (method) {
    case CorrectionMethod::matrix:
      check_enough(samples, n, min_patches_matrix);
      return {method, detail::fit_matrix};
    case CorrectionMethod::root_polynomial:
      check_enough(samples, n, min_patches_roots);
      return {method, detail::fit_root_polynomial};
    case CorrectionMethod::response_estimate: {
      if (!all_spectra) {
        throw ArgumentError(
            "the response estimate needs the reflectance of every patch and of the white base");
      }
      check_enough(samples, n, min_patches_matrix);
      const auto model = detail::make_response_model(training.viewing);
      return {method, [model](const Training& t) { return detail::fit_response(t, model); }};
    }
    case CorrectionMethod::grey:
      break;
  }
  throw ArgumentError("correction '" + std::string(to_string(method)) + "' cannot be used here");
}

// Writes fitted colours and errors of the used patches; the white base, where it trained, is last.
void describe_patches(const Training& training, const detail::ColourMap& map,
                      const std::vector<detail::LeaveOneOut>& errors, CardFit& fit) {
  std::size_t at = 0;
  std::vector<double> loo;
  for (PatchFit& p : fit.patches) {
    if (!p.used) continue;
    p.fitted = to_lab(detail::to_xyz(map.of_patch(training.patches[at]).xyz), training.white);
    p.de00 = de00(p.reference, p.fitted);
    const Eigen::Vector3d& e = errors[at].error;
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
void check_agreement(const Card& card, const CardFit& fit) {
  std::vector<const PatchFit*> far;
  std::size_t used = 0;
  for (const PatchFit& p : fit.patches) {
    if (!p.used) continue;
    ++used;
    if (p.de00 > 6) far.push_back(&p);
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

void add_warnings(const Card& card, const CardSamples& samples, const detail::LightField& light,
                  CardFit& fit) {
  for (const std::string_view reason : {"clipped", "too dark", "too few pixels"}) {
    const auto names = names_with_reason(samples, reason);
    if (!names.empty()) {
      fit.warnings.push_back("patches left out (" + std::string(reason) + "): " + list_of(names));
    }
  }
  if (light.is_flat()) {
    fit.warnings.emplace_back(
        "too few white samples to see whether the light is even: lightness may be off");
  } else if (light.residual_rms() > 0.02) {
    fit.warnings.emplace_back("the light on the card varies more than a smooth field explains");
  }
  std::vector<std::string> odd;
  for (const PatchFit& p : fit.patches) {
    if (p.used && p.loo_de00 > std::max(5.0, 8 * fit.loo_de00_median)) odd.push_back(p.name);
  }
  if (!odd.empty()) {
    fit.warnings.push_back("patches that do not fit the others (dirty, shaded or glinting?): " +
                           list_of(odd));
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
  const detail::LightField light = detail::fit_light(samples, card, true);
  const Training training = detail::make_training(samples, card, light, viewing);
  const Choice choice = choose_method(training, samples, options);
  auto map = choice.fit(training);
  auto errors = detail::leave_one_out(training, choice.fit);

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
  describe_patches(training, *map, errors, fit);
  check_agreement(card, fit);
  add_warnings(card, samples, light, fit);
  fit.correction = std::make_shared<detail::FittedCorrection>(choice.method, light, std::move(map),
                                                              training.white, std::move(errors));
  return fit;
}

}  // namespace mamelon
