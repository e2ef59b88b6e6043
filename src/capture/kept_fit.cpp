#include "mamelon/kept_fit.h"

#include <algorithm>
#include <cmath>

#include "mamelon/difference.h"
#include "mamelon/error.h"

#include "base/numbers.h"
#include "capture/card_map.h"
#include "capture/later.h"
#include "capture/response_map.h"
#include "colour/vectors.h"

namespace mamelon {

void Fields<KeptFit>::relate(const KeptFit& kept, const std::string& where) {
  const auto inside = [&](const std::string& list, std::size_t i, PointPx at) {
    if (at.x >= 0 && at.y >= 0 && at.x <= static_cast<double>(kept.width_px) &&
        at.y <= static_cast<double>(kept.height_px)) {
      return;
    }
    throw ArgumentError(where + "." + list + "[" + std::to_string(i) +
                        "].at: lies outside the photo of width_px and height_px");
  };
  const auto covariance = [&](const std::string& list, std::size_t i, const Mat3& given) {
    if (is_covariance(given)) return;
    throw ArgumentError(where + "." + list + "[" + std::to_string(i) +
                        "].rgb_cov: is no covariance; it has to be symmetric and not negative");
  };
  if (kept.patches.size() != kept.card.patches.size()) {
    throw ArgumentError(where + ".patches: are " + std::to_string(kept.patches.size()) +
                        ", but the card has " + std::to_string(kept.card.patches.size()));
  }
  for (std::size_t i = 0; i < kept.patches.size(); ++i) {
    const KeptPatch& patch = kept.patches[i];
    if (patch.name != kept.card.patches[i].name) {
      throw ArgumentError(where + ".patches[" + std::to_string(i) + "].name: is '" + patch.name +
                          "', but the card has '" + kept.card.patches[i].name + "' there");
    }
    const bool dark = *std::min_element(patch.rgb.begin(), patch.rgb.end()) <= 0;
    if (patch.left_out.empty() && dark) {
      throw ArgumentError(where + ".patches[" + std::to_string(i) +
                          "].rgb: a patch that is used has light in every channel");
    }
    if (patch.pixels > 0) inside("patches", i, patch.at);
    covariance("patches", i, patch.rgb_cov);
  }
  const auto check_whites = [&](const std::string& list, const std::vector<KeptWhite>& whites) {
    for (std::size_t i = 0; i < whites.size(); ++i) {
      if (*std::min_element(whites[i].rgb.begin(), whites[i].rgb.end()) <= 0) {
        throw ArgumentError(where + "." + list + "[" + std::to_string(i) +
                            "].rgb: white has light in every channel");
      }
      inside(list, i, whites[i].at);
      covariance(list, i, whites[i].rgb_cov);
    }
  };
  check_whites("whites", kept.whites);
  check_whites("blank_white", kept.blank_white);
  const PointMm middle = {kept.card.width_mm / 2, kept.card.height_mm / 2};
  const bool finite = std::all_of(kept.mm_to_px.begin(), kept.mm_to_px.end(),
                                  [](double v) { return std::isfinite(v) && std::abs(v) < 1e9; });
  const PointPx at = finite ? detail::apply(kept.mm_to_px, middle) : PointPx{-1, -1};
  const double scale = finite ? detail::local_scale(kept.mm_to_px, middle).largest : 0;
  // A card that fills the photo has at least a pixel for each of its millimetres.
  constexpr double least = 0.5;
  constexpr double most = 2000;
  const bool in_photo = at.x >= 0 && at.y >= 0 && at.x <= static_cast<double>(kept.width_px) &&
                        at.y <= static_cast<double>(kept.height_px);
  if (!in_photo || !(scale >= least && scale <= most)) {
    throw ArgumentError(where + ".mm_to_px: does not put the card into the photo");
  }
}

namespace {

std::string text_of(const std::optional<double>& value, const std::string& unit) {
  return value ? detail::format_short(*value) + unit : "not stated";
}

// What two photos of one session have in common: empty where they have.
std::vector<std::string> differences(const Photo& photo, const KeptFit& kept) {
  std::vector<std::string> out;
  const auto differ = [&](const std::string& what, const std::string& here,
                          const std::string& there) {
    out.push_back(what + " " + here + " in place of " + there);
  };
  const CameraSettings& now = photo.settings;
  const CameraSettings& then = kept.settings;
  if (photo.width != kept.width_px || photo.height != kept.height_px) {
    const auto size = [](std::size_t width, std::size_t height) {
      return std::to_string(width) + "×" + std::to_string(height);
    };
    differ("size", size(photo.width, photo.height), size(kept.width_px, kept.height_px));
  }
  if (photo.encoding != kept.encoding) {
    differ("encoding", in_words(photo.encoding), in_words(kept.encoding));
  } else if (photo.profile_description != kept.profile) {
    differ("profile", "'" + photo.profile_description + "'", "'" + kept.profile + "'");
  }
  if (!now.camera.empty() && !then.camera.empty() && now.camera != then.camera) {
    out.emplace_back("another camera");
  }
  const auto number = [&](const std::string& what, const std::optional<double>& here,
                          const std::optional<double>& there, const std::string& unit) {
    // Files round what they state.
    constexpr double rounding = 0.02;
    if (!here || !there || std::abs(*here / *there - 1) <= rounding) return;
    differ(what, text_of(here, unit), text_of(there, unit));
  };
  number("exposure", now.exposure_s, then.exposure_s, " s");
  number("aperture", now.f_number, then.f_number, "");
  number("sensitivity", now.iso, then.iso, "");
  if (now.white_balance && then.white_balance && now.white_balance != then.white_balance) {
    differ("balance of white", in_words(*now.white_balance), in_words(*then.white_balance));
  }
  return out;
}

// What neither file, or only one of them, says.
std::vector<std::string> unsaid(const CameraSettings& now, const CameraSettings& then) {
  std::vector<std::string> out;
  if (now.camera.empty() || then.camera.empty()) out.emplace_back("camera");
  if (!now.exposure_s || !then.exposure_s) out.emplace_back("exposure");
  if (!now.f_number || !then.f_number) out.emplace_back("aperture");
  if (!now.iso || !then.iso) out.emplace_back("sensitivity");
  if (!now.white_balance || !then.white_balance) out.emplace_back("balance of white");
  return out;
}

// Raw files and those that follow light have no balance of the camera's in them.
bool is_balanced_anew(const Photo& photo) {
  return photo.encoding != Encoding::linear &&
         photo.settings.white_balance == WhiteBalance::automatic;
}

std::string settings_of(const Viewing& viewing, const LightDrift& drift, double px_per_mm,
                        const std::vector<KnownSurface>& surfaces) {
  std::string text = "viewing=" + to_string(viewing) +
                     ";light=" + detail::format_number(drift.light) +
                     ";colour=" + detail::format_number(drift.colour) +
                     ";px_per_mm=" + detail::format_number(px_per_mm);
  for (const KnownSurface& surface : surfaces) text += ";surface=" + digest_of(surface);
  return text;
}

std::string missed_by(const detail::FittedCorrection& unanchored,
                      const std::vector<detail::Anchor>& anchors,
                      const std::vector<KnownSurface>& surfaces) {
  std::string text;
  for (std::size_t i = 0; i < anchors.size(); ++i) {
    const Lab read = unanchored.lab(anchors[i].signal).value;
    text += (i > 0 ? ", " : "") + surfaces[i].name + " " +
            detail::format_fixed(de00(read, anchors[i].lab), 1);
  }
  return text;
}

}  // namespace

KeptFit keep(const CardFit& fit) {
  if (fit.later) {
    throw ArgumentError("the fit is a kept one already; keep that of the photo with the card");
  }
  if (!fit.made_from) {
    throw ArgumentError(
        "only a fit by a card alone can be kept: tabs in a photo tell of that photo's own light");
  }
  return *fit.made_from;
}

CardFit fit_later(const Photo& photo, const KeptFit& kept, const Viewing& viewing,
                  const LaterFitOptions& options) {
  const CardFit then = detail::fit_again(kept, viewing);
  const std::vector<std::string> apart = differences(photo, kept);
  if (!apart.empty()) {
    throw CaptureError("the photo does not belong to the kept fit: " + detail::list_of(apart) +
                       "; use the settings of the card's photo, or take one with the card anew");
  }
  std::vector<std::string> warnings;
  for (const std::string& warning : then.warnings) {
    warnings.push_back("in the card's photo: " + warning);
  }
  const std::vector<std::string> open = unsaid(photo.settings, kept.settings);
  const bool anew = is_balanced_anew(photo);
  LightDrift drift = options.drift.value_or(LightDrift{});
  if (!options.drift && (!open.empty() || anew)) {
    drift.light *= open.empty() ? 1 : 2;
    drift.colour *= anew ? 4 : 2;
  }
  if (!open.empty()) {
    warnings.push_back("whether the photo belongs to the kept fit cannot be told of its " +
                       detail::list_of(open) + ": its file or that of the card's photo does not " +
                       "say" + (options.drift ? "" : "; the interval is wider"));
  }
  if (anew) {
    warnings.push_back(
        "the camera balanced white anew for each photo: colours move with it; set a fixed balance");
  }
  warnings.push_back(
      "no card in the photo: light is taken to be as when the card was seen, within " +
      detail::format_fixed(100 * drift.light, 0) +
      " % (one standard deviation); a shadow or another distance is not seen");

  const Card& card = kept.card;
  const double px_per_mm = options.px_per_mm.value_or(
      detail::local_scale(kept.mm_to_px, {card.width_mm / 2, card.height_mm / 2}).largest);
  CardFit fit{.mm_to_px = {px_per_mm, 0, 0, 0, px_per_mm, 0, 0, 0, 1},
              .card_parts = {},
              .patches = then.patches,
              .correction = nullptr,
              .viewing = viewing,
              .loo_de00_median = then.loo_de00_median,
              .loo_de00_max = then.loo_de00_max,
              .loo_de00_near = then.loo_de00_near,
              .warnings = std::move(warnings),
              .provenance = make_provenance(
                  "fit_later", settings_of(viewing, drift, px_per_mm, options.surfaces),
                  {photo.provenance.digest, digest_of(kept)}),
              .photo_digest = photo_digest(photo),
              .later = true};
  const auto correction = [&](std::vector<detail::Anchor> anchors) {
    return detail::correction_of(detail::card_map(detail::samples_of(kept, viewing), card,
                                                  kept.encoding, viewing, {.method = kept.method}),
                                 std::move(anchors), drift);
  };
  const std::vector<detail::Anchor> anchors = detail::anchors_of(photo, options.surfaces, viewing);
  const auto anchored = correction(anchors);
  if (!anchored->anchors_agree()) {
    throw CaptureError(
        "the photo does not belong to the kept fit: its light or exposure is another one; ΔE00 of "
        "what stands in it: " +
        missed_by(*correction({}), anchors, options.surfaces) +
        "; take a photo with the card anew");
  }
  for (const KnownSurface& surface : options.surfaces) {
    const BoxPx& b = surface.box;
    fit.card_parts.push_back(
        {b.x / px_per_mm, b.y / px_per_mm, b.width / px_per_mm, b.height / px_per_mm});
  }
  fit.correction = anchored;
  return fit;
}

namespace detail {

void warn_of_unlikely_colour(const CardFit& fit, Reading& reading) {
  if (!fit.later) return;
  const auto model = response_model(fit.viewing);
  const Eigen::MatrixXd& rows = model->expected.at(static_cast<std::size_t>(reading.kind)).rows;
  const Eigen::MatrixXd seen = rows * model->prior.weights.transpose();
  const Xyz white = white_point(fit.viewing);
  Eigen::MatrixXd colours(seen.rows(), 3);
  for (Eigen::Index i = 0; i < seen.rows(); ++i) {
    colours.row(i) = to_eigen(to_lab({seen(i, 0), seen(i, 1), seen(i, 2)}, white)).transpose();
  }
  const Eigen::Vector3d mean = colours.colwise().mean();
  colours.rowwise() -= mean.transpose();
  const Eigen::Matrix3d spread =
      colours.transpose() * colours / static_cast<double>(colours.rows() - 1) +
      to_eigen(reading.lab.covariance());
  const Eigen::Vector3d off = to_eigen(reading.lab.value) - mean;
  constexpr double limit = 16.27;  // the 99.9 % point of chi-squared, three degrees of freedom
  if (off.dot(spread.ldlt().solve(off)) <= limit) return;
  reading.warnings.push_back("hardly any " + in_words(reading.kind) +
                             " has this colour: the light may not be that of the kept fit");
}

}  // namespace detail
}  // namespace mamelon
