#include "mamelon/card.h"

#include <algorithm>
#include <cmath>
#include <future>
#include <set>

#include "mamelon/difference.h"
#include "mamelon/error.h"

#include "base/numbers.h"
#include "base/parallel.h"
#include "capture/card_map.h"
#include "capture/describe_fit.h"
#include "capture/later.h"
#include "capture/response_map.h"
#include "colour/vectors.h"

namespace mamelon {

void Fields<Card>::relate(const Card& card, const std::string& where) {
  const auto inside = [&](const char* list, std::size_t i, double right, double below) {
    constexpr double slack_mm = 1e-6;
    if (right > card.width_mm + slack_mm || below > card.height_mm + slack_mm)
      throw ArgumentError(where + "." + list + "[" + std::to_string(i) +
                          "]: lies outside the card's width_mm and height_mm");
  };
  std::set<int> ids;
  for (std::size_t i = 0; i < card.fiducials.size(); ++i) {
    const Fiducial& f = card.fiducials[i];
    if (!ids.insert(f.id).second)
      throw ArgumentError(where + ".fiducials[" + std::to_string(i) +
                          "].id: the id is used twice; give each fiducial its own");
    inside("fiducials", i, f.x_mm + f.size_mm, f.y_mm + f.size_mm);
  }
  for (std::size_t i = 0; i < card.patches.size(); ++i) {
    const Patch& p = card.patches[i];
    inside("patches", i, p.x_mm + p.width_mm, p.y_mm + p.height_mm);
  }
  for (std::size_t i = 0; i < card.white_areas.size(); ++i) {
    const WhiteArea& w = card.white_areas[i];
    inside("white.areas", i, w.x_mm + w.width_mm, w.y_mm + w.height_mm);
  }
}

namespace {

using detail::CardMap;
using detail::CardSamples;
using detail::list_of;
using detail::names_with_reason;

// See `check_card`.
void check_colours(const std::string& where, const std::optional<Lab>& lab,
                   const std::optional<Reflectance>& reflectance, const Viewing& viewing) {
  if (!reflectance) return;
  const auto [least, most] =
      std::minmax_element(reflectance->values().begin(), reflectance->values().end());
  constexpr double brightest = 1.02;
  if (*most > brightest) {
    throw ArgumentError(where + " reflects " + detail::format_fixed(*most, 2) +
                        " of the light; expected 1.02 at the most, as parts of 1");
  }
  if (*most <= 0.001) {
    throw ArgumentError(where + " reflects " + detail::format_fixed(*most, 4) +
                        " of the light at the most; expected more than 0.001, as parts of 1");
  }
  if (!lab) return;
  const double apart = lab_disagreement(*lab, *reflectance, viewing);
  if (apart > largest_lab_disagreement) {
    throw ArgumentError(where + ": its Lab and its reflectance are ΔE00 " +
                        detail::format_fixed(apart, 1) + " apart under " + to_string(viewing) +
                        "; the reflectance counts, and they may differ by 1 (a shifted spectrum, "
                        "or a Lab of another viewing?)");
  }
}

// White this dark is known to a few percent only, whatever the file's depth.
void check_exposure(const CardSamples& samples) {
  double brightest = 0;
  for (const detail::RegionSample& white : samples.whites) {
    brightest = std::max({brightest, white.rgb[0], white.rgb[1], white.rgb[2]});
  }
  constexpr double least = 0.04;
  if (samples.whites.empty() || brightest >= least) return;
  throw CaptureError("the photo is under-exposed: the card's white reaches only " +
                     detail::format_fixed(100 * brightest, 0) +
                     " % of full scale; 30 % or more is " + "wanted");
}

// What covers a fiducial may cover patches too, and then the fit is worth nothing.
void check_nothing_else_hidden(const std::string& fiducial, const CardSamples& samples,
                               const CardMap& c, const CardFit& fit) {
  const bool odd = std::any_of(fit.patches.begin(), fit.patches.end(),
                               [](const PatchFit& p) { return p.used && p.de00 > 3; });
  if (odd || (!c.tone && c.disagreement > detail::disagreement_limit)) {
    const auto clipped = names_with_reason(samples, "clipped");
    throw CaptureError("the card is partly hidden: fiducial " + fiducial +
                       " is not visible, and what covers it seems to cover patches as well" +
                       (clipped.empty() ? "" : "; the photo is over-exposed: " + list_of(clipped)));
  }
}

void warn_of_patches(const CardSamples& samples, const CardMap& c, CardFit& fit) {
  if (!c.fallback.empty()) fit.warnings.push_back(c.fallback);
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
        "the patches' stated spectra do not explain what the photo shows (metameric patches, "
        "measured on another card, coarse JPEG rounding, or a lamp with lines such as a "
        "fluorescent "
        "tube or an RGB LED?): the interval is widened; take it in daylight or under a broad lamp");
  }
}

detail::LocalScale scale_at_centre(const detail::Homography& mm_to_px, const Card& card) {
  return detail::local_scale(mm_to_px, {card.width_mm / 2, card.height_mm / 2});
}

// Edges wider than the margins that are left out of patches and teeth mix colours.
constexpr double sharp_mm = 0.35;

void warn_of_focus(CardFit& fit) {
  if (fit.edge_blur_mm > sharp_mm) {
    fit.warnings.push_back("the photo is blurred: edges on the card are " +
                           detail::format_fixed(fit.edge_blur_mm, 1) +
                           " mm wide; hold the camera still and focus on the teeth");
  }
}

// White below an eighth of full scale leaves most of the file's range unused.
void warn_of_exposure(const CardSamples& samples, CardFit& fit) {
  double brightest = 0;
  for (const detail::RegionSample& white : samples.whites) {
    brightest = std::max({brightest, white.rgb[0], white.rgb[1], white.rgb[2]});
  }
  if (!samples.whites.empty() && brightest < 0.125) {
    fit.warnings.push_back("the photo is under-exposed: the card's white reaches only " +
                           detail::format_fixed(100 * brightest, 0) + " % of full scale");
  }
}

void warn_of_light(Encoding encoding, const Card& card, const CardMap& c, CardFit& fit) {
  if (c.light.is_flat()) {
    fit.warnings.emplace_back(
        "too few white samples to see whether the light is even: lightness may be off");
  } else if (c.light.residual_rms() > 0.02) {
    fit.warnings.emplace_back("the light on the card varies more than a smooth field explains");
  }
  if (encoding == Encoding::camera_rendering) {
    fit.warnings.emplace_back(
        "a camera's own rendering is known only through the neutral patches; a raw, linear or "
        "unrendered sRGB export measures far better");
  }
  if (c.method == CorrectionMethod::grey) {
    fit.warnings.emplace_back(
        "only grey patches: the average camera stands for this one, with a wide interval");
  }
  const auto scale = scale_at_centre(fit.mm_to_px, card);
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

// Where a box of the photo lies on the card's plane.
WhiteArea part_of(const BoxPx& box, const detail::Homography& mm_to_px) {
  const detail::Homography px_to_mm = detail::inverse(mm_to_px);
  const PointMm from = detail::apply_inverse(px_to_mm, {box.x, box.y});
  const PointMm to = detail::apply_inverse(px_to_mm, {box.x + box.width, box.y + box.height});
  return {std::min(from.x, to.x), std::min(from.y, to.y), std::abs(to.x - from.x),
          std::abs(to.y - from.y)};
}

// What the response estimate knows before it sees a photo takes as long as finding the card: both
// at once. Nothing of it is needed here; the fit asks for it again.
std::future<void> begin_response_model(const Card& card, const Viewing& viewing,
                                       const CardFitOptions& options) {
  const bool spectra = std::all_of(card.patches.begin(), card.patches.end(),
                                   [](const Patch& p) { return p.reflectance.has_value(); });
  const auto method = options.method.value_or(CorrectionMethod::response_estimate);
  if (!spectra || method != CorrectionMethod::response_estimate) return {};
  return std::async(detail::beside, [viewing] { (void)detail::response_model(viewing); });
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
  for (const KnownSurface& surface : options.surfaces) {
    text += ";surface=" + surface.name;
    for (const double v : {surface.box.x, surface.box.y, surface.box.width, surface.box.height}) {
      text += "," + detail::format_number(v);
    }
  }
  if (options.blank_white) text += ";blank_white=" + photo_digest(*options.blank_white);
  return text;
}

}  // namespace

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

void check_card(const Card& card, const std::string& where) {
  check(card, where);
  const auto coloured = [&](const std::string& place, const char* what, bool has_colour) {
    if (!has_colour)
      throw ArgumentError(where + place + ": the " + what +
                          " has no colour; give \"lab\" or \"reflectance\"");
  };
  for (std::size_t i = 0; i < card.patches.size(); ++i) {
    const Patch& p = card.patches[i];
    const std::string place = ".patches[" + std::to_string(i) + "]";
    coloured(place, "patch", p.lab || p.reflectance);
    check_colours(where + place + ": patch '" + p.name + "'", p.lab, p.reflectance, card.viewing);
  }
  coloured(".white", "white", card.white_areas.empty() || card.white_lab || card.white_reflectance);
  check_colours(where + ".white: it", card.white_lab, card.white_reflectance, card.viewing);
  if (card.white_lab || card.white_reflectance) {
    constexpr double least_l = 80;
    const double l = card.white_reflectance ? to_lab(*card.white_reflectance, card.viewing).l
                                            : card.white_lab->l;
    if (l < least_l) {
      throw ArgumentError(where + ".white: it has L* " + detail::format_fixed(l, 1) +
                          ": a white base has 80 or more");
    }
  }
}

CardFit fit_card(const Photo& photo, const Card& card, const Viewing& viewing,
                 const CardFitOptions& options) {
  check_card(card, "card '" + card.name + "'");
  const auto model = begin_response_model(card, viewing, options);
  const detail::CardPose pose = options.corners_px
                                    ? detail::pose_from_corners(photo, card, *options.corners_px)
                                    : detail::find_card(photo, card);
  auto kept = std::make_shared<const KeptFit>(detail::sample_card(photo, card, pose, options));
  const CardSamples samples = detail::samples_of(*kept, viewing);
  CardMap c = detail::card_map(samples, card, photo.encoding, viewing, options);

  CardFit fit{.mm_to_px = pose.mm_to_px,
              .card_width_mm = card.width_mm,
              .card_height_mm = card.height_mm,
              .card_parts = parts_of(card),
              .reprojection_rms_px = pose.reprojection_rms_px,
              .edge_blur_mm = pose.edge_blur_px / scale_at_centre(pose.mm_to_px, card).largest,
              .patches = samples.patches,
              .correction = nullptr,
              .viewing = viewing,
              .warnings = {},
              .provenance = make_provenance("fit_card", settings_of(viewing, options),
                                            {photo.provenance.digest, card.provenance.digest}),
              .photo_digest = kept->photo};
  detail::describe_patches(c, fit);
  check_exposure(samples);
  detail::check_agreement("the definition of card '" + card.name + "'", c, fit);
  if (!pose.hidden.empty()) {
    check_nothing_else_hidden(pose.hidden, samples, c, fit);
    fit.warnings.push_back("fiducial " + pose.hidden +
                           " is not visible: the card's place rests on the other three");
  }
  warn_of_focus(fit);
  warn_of_exposure(samples, fit);
  warn_of_patches(samples, c, fit);
  warn_of_light(photo.encoding, card, c, fit);
  fit.correction = detail::correction_of(
      std::move(c), detail::anchors_of(photo, options.surfaces, viewing), std::nullopt);
  for (const KnownSurface& surface : options.surfaces) {
    fit.card_parts.push_back(part_of(surface.box, fit.mm_to_px));
  }
  if (options.surfaces.empty()) fit.made_from = std::move(kept);
  return fit;
}

CardFit detail::fit_again(const KeptFit& kept, const Viewing& viewing) {
  check(kept, "the kept fit");
  check_card(kept.card, "the kept fit's card '" + kept.card.name + "'");
  const CardSamples samples = detail::samples_of(kept, viewing);
  CardMap c = detail::card_map(samples, kept.card, kept.encoding, viewing, {.method = kept.method});
  CardFit fit{.mm_to_px = kept.mm_to_px,
              .card_width_mm = kept.card.width_mm,
              .card_height_mm = kept.card.height_mm,
              .card_parts = parts_of(kept.card),
              .patches = samples.patches,
              .correction = nullptr,
              .viewing = viewing,
              .warnings = {},
              .provenance =
                  make_provenance("fit_again", "viewing=" + to_string(viewing), {digest_of(kept)}),
              .photo_digest = kept.photo,
              .made_from = std::make_shared<const KeptFit>(kept)};
  detail::describe_patches(c, fit);
  detail::check_agreement("the definition of card '" + kept.card.name + "'", c, fit);
  warn_of_exposure(samples, fit);
  warn_of_patches(samples, c, fit);
  warn_of_light(kept.encoding, kept.card, c, fit);
  fit.correction = detail::correction_of(std::move(c), {}, std::nullopt);
  return fit;
}

}  // namespace mamelon
