#include "capture/patches.h"

#include <algorithm>
#include <cmath>

#include "mamelon/error.h"

#include "base/parallel.h"
#include "capture/tooth_library.h"
#include "colour/vectors.h"

namespace mamelon::detail {
namespace {

constexpr double patch_inset = 0.18;
constexpr double white_inset = 0.10;
// A patch with more clipped pixels than this has lost its mean.
constexpr double clipped_limit = 0.01;
// Below this part of full scale a channel is mostly noise, flare and rounding.
constexpr double low_signal = 0.0012;

double mean_log(const Vec3& rgb) {
  return (std::log(rgb[0]) + std::log(rgb[1]) + std::log(rgb[2])) / 3;
}

Xyz reference_xyz(const std::optional<Reflectance>& reflectance, const Lab& lab,
                  const Viewing& viewing, const Xyz& white) {
  return reflectance ? to_xyz(*reflectance, viewing) : to_xyz(lab, white);
}

// Places all over a photo of a blank white field.
std::vector<RegionSample> sample_blank(const Photo& photo, const Photo& blank) {
  if (blank.width != photo.width || blank.height != photo.height) {
    throw ArgumentError("the photo of a blank white field has " + std::to_string(blank.width) +
                        "×" + std::to_string(blank.height) + " pixels; expected " +
                        std::to_string(photo.width) + "×" + std::to_string(photo.height) +
                        ", as the photo");
  }
  constexpr int columns = 12;
  constexpr int rows = 8;
  const Homography same = {1, 0, 0, 0, 1, 0, 0, 0, 1};
  const double width = static_cast<double>(blank.width) / columns;
  const double height = static_cast<double>(blank.height) / rows;
  std::vector<RegionSample> samples;
  for (int i = 0; i < rows * columns; ++i) {
    const RegionSample s = sample_region(
        blank, same, same,
        {i % columns * width, static_cast<double>(i / columns) * height, width, height}, 0.2);
    if (reason_against(s).empty()) samples.push_back(s);
  }
  if (samples.size() < min_light_samples) {
    throw CaptureError("the photo of a blank white field is over-exposed or too dark: only " +
                       std::to_string(samples.size()) + " of " + std::to_string(rows * columns) +
                       " places can be used");
  }
  return samples;
}

}  // namespace

std::string reason_against(const RegionSample& sample) {
  if (sample.pixels < 16) return "too few pixels";
  if (sample.clipped_fraction > clipped_limit) return "clipped";
  if (sample.black_fraction > clipped_limit) return "too dark";
  if (*std::min_element(sample.rgb.begin(), sample.rgb.end()) < low_signal) return "too dark";
  return {};
}

Eigen::VectorXd on_response_grid(const Reflectance& reflectance) {
  const Reflectance r =
      resample(reflectance, response_grid(), Interpolation::cubic, Extrapolation::hold);
  return Eigen::Map<const Eigen::VectorXd>(r.values().data(),
                                           static_cast<Eigen::Index>(r.values().size()));
}

KeptFit sample_card(const Photo& photo, const Card& card, const CardPose& pose,
                    const CardFitOptions& options) {
  for (const std::string& name : options.exclude) {
    if (std::none_of(card.patches.begin(), card.patches.end(),
                     [&](const Patch& p) { return p.name == name; })) {
      throw ArgumentError("no patch of card '" + card.name + "' is named '" + name + "'");
    }
  }
  KeptFit kept{.card = card,
               .width_px = photo.width,
               .height_px = photo.height,
               .encoding = photo.encoding,
               .profile = photo.profile_description,
               .settings = photo.settings,
               .mm_to_px = pose.mm_to_px,
               .method = options.method,
               .photo = photo_digest(photo)};
  kept.card.provenance = {};  // stands in no document
  const Homography px_to_mm = inverse(pose.mm_to_px);
  const std::size_t patches = card.patches.size();
  std::vector<RegionSample> regions(patches + card.white_areas.size());
  parallel_for(regions.size(), 1, [&](std::size_t i, std::size_t) {
    if (i < patches) {
      const Patch& p = card.patches[i];
      regions[i] = sample_region(photo, pose.mm_to_px, px_to_mm,
                                 {p.x_mm, p.y_mm, p.width_mm, p.height_mm}, patch_inset);
    } else {
      const WhiteArea& a = card.white_areas[i - patches];
      regions[i] = sample_region(photo, pose.mm_to_px, px_to_mm,
                                 {a.x_mm, a.y_mm, a.width_mm, a.height_mm}, white_inset);
    }
  });
  for (std::size_t i = 0; i < patches; ++i) {
    const std::string& name = card.patches[i].name;
    const RegionSample& s = regions[i];
    const bool excluded =
        std::find(options.exclude.begin(), options.exclude.end(), name) != options.exclude.end();
    kept.patches.push_back({.name = name,
                            .at = s.centre,
                            .pixels = s.pixels,
                            .rgb = s.rgb,
                            .rgb_cov = s.rgb_cov,
                            .clipped_fraction = s.clipped_fraction,
                            .left_out = excluded ? "excluded" : reason_against(s)});
  }
  const auto white = [](const RegionSample& s) {
    return KeptWhite{.at = s.centre, .rgb = s.rgb, .rgb_cov = s.rgb_cov};
  };
  if (options.blank_white) {
    for (const RegionSample& s : sample_blank(photo, *options.blank_white)) {
      kept.blank_white.push_back(white(s));
    }
  }
  for (std::size_t i = patches; i < regions.size(); ++i) {
    if (reason_against(regions[i]).empty()) kept.whites.push_back(white(regions[i]));
  }
  return kept;
}

CardSamples samples_of(const KeptFit& kept, const Viewing& viewing) {
  const Card& card = kept.card;
  const PointMm middle = {card.width_mm / 2, card.height_mm / 2};
  CardSamples samples;
  samples.centre = apply(kept.mm_to_px, middle);
  samples.px_per_mm = local_scale(kept.mm_to_px, middle).largest;
  samples.unit_px = 0.5 * static_cast<double>(std::max(kept.width_px, kept.height_px));
  for (std::size_t i = 0; i < kept.patches.size(); ++i) {
    const KeptPatch& seen = kept.patches[i];
    PatchFit fit;
    fit.name = seen.name;
    fit.used = seen.left_out.empty();
    fit.reason = seen.left_out;
    fit.pixels = seen.pixels;
    fit.rgb = seen.rgb;
    fit.rgb_cov = seen.rgb_cov;
    fit.clipped_fraction = seen.clipped_fraction;
    fit.reference = patch_lab(card, card.patches[i], viewing);
    samples.patches.push_back(std::move(fit));
    samples.centres.push_back(seen.at);
  }
  const auto add_corners = [&](const RectMm& rect) {
    for (const PointMm& at : {PointMm{rect.x, rect.y}, PointMm{rect.x + rect.width, rect.y},
                              PointMm{rect.x, rect.y + rect.height},
                              PointMm{rect.x + rect.width, rect.y + rect.height}}) {
      samples.corners.push_back(apply(kept.mm_to_px, at));
    }
  };
  for (const Patch& p : card.patches) add_corners({p.x_mm, p.y_mm, p.width_mm, p.height_mm});
  for (const WhiteArea& a : card.white_areas)
    add_corners({a.x_mm, a.y_mm, a.width_mm, a.height_mm});
  const auto add_whites = [](const std::vector<KeptWhite>& from, std::vector<RegionSample>& to) {
    for (const KeptWhite& white : from) {
      RegionSample sample;
      sample.rgb = white.rgb;
      sample.rgb_cov = white.rgb_cov;
      sample.centre = white.at;
      to.push_back(sample);
    }
  };
  add_whites(kept.whites, samples.whites);
  add_whites(kept.blank_white, samples.blank);
  return samples;
}

LightField fit_light(const CardSamples& samples, const Card& card, const Tone* tone) {
  constexpr double white_sd = 0.003;
  constexpr double neutral_sd = 0.008;
  std::vector<LightSample> light;
  for (const RegionSample& white : samples.whites) {
    const Vec3 rgb = tone == nullptr ? white.rgb : to_vec3((*tone)(to_eigen(white.rgb)));
    light.push_back({white.centre, mean_log(rgb), white_sd, 0});
  }
  if (tone == nullptr) {
    for (std::size_t i = 0; i < samples.patches.size(); ++i) {
      if (!card.patches[i].neutral || !samples.patches[i].used) continue;
      const double y = to_xyz(samples.patches[i].reference, {1, 1, 1}).y;
      // Flare and rounding weigh most on dark patches.
      if (y < 0.15) continue;
      light.push_back(
          {samples.centres[i], mean_log(samples.patches[i].rgb) - std::log(y), neutral_sd, 1});
    }
  }
  constexpr double blank_sd = 0.005;
  for (const RegionSample& white : samples.blank) {
    const Vec3 rgb = tone == nullptr ? white.rgb : to_vec3((*tone)(to_eigen(white.rgb)));
    light.push_back({white.centre, mean_log(rgb), blank_sd, 2});
  }
  LightField field = LightField::fit(light, samples.centre, samples.unit_px);
  // The card itself is lit as its patches are; beyond it a shadow may end.
  field.set_known(samples.corners, samples.px_per_mm);
  return field;
}

Training make_training(const CardSamples& samples, const Card& card, const LightField& light,
                       const Viewing& viewing) {
  Training training{.patches = {}, .viewing = viewing, .white = white_point(viewing)};
  for (std::size_t i = 0; i < samples.patches.size(); ++i) {
    const PatchFit& fit = samples.patches[i];
    if (!fit.used) continue;
    TrainingPatch p;
    p.gain = light.gain(samples.centres[i]);
    p.raw = to_eigen(fit.rgb);
    p.raw_cov = to_eigen(fit.rgb_cov);
    p.rgb = p.raw / p.gain;
    p.rgb_cov = p.raw_cov / (p.gain * p.gain);
    p.lab = fit.reference;
    p.xyz = to_eigen(
        reference_xyz(card.patches[i].reflectance, fit.reference, viewing, training.white));
    p.neutral = card.patches[i].neutral;
    if (card.patches[i].reflectance) p.reflectance = on_response_grid(*card.patches[i].reflectance);
    training.patches.push_back(std::move(p));
  }
  // Beside patches with spectra a base known as Lab only would hide theirs.
  const bool spectra = std::all_of(card.patches.begin(), card.patches.end(),
                                   [](const Patch& p) { return p.reflectance.has_value(); });
  const bool white_known =
      card.white_reflectance || (!spectra && card.white_lab && card.viewing == viewing);
  if (white_known && samples.whites.size() >= 3) {
    const auto count = static_cast<double>(samples.whites.size());
    TrainingPatch p;
    p.raw.setZero();
    p.raw_cov.setZero();
    p.gain = 0;
    for (const RegionSample& white : samples.whites) {
      p.raw += to_eigen(white.rgb) / count;
      p.raw_cov += to_eigen(white.rgb_cov) / (count * count);
      p.gain += light.gain(white.centre) / count;
    }
    p.rgb = p.raw / p.gain;
    p.rgb_cov = p.raw_cov / (p.gain * p.gain);
    p.lab = card.white_reflectance ? to_lab(*card.white_reflectance, viewing) : *card.white_lab;
    p.xyz = to_eigen(reference_xyz(card.white_reflectance, p.lab, viewing, training.white));
    p.neutral = true;
    if (card.white_reflectance) p.reflectance = on_response_grid(*card.white_reflectance);
    training.patches.push_back(std::move(p));
  }
  return training;
}

}  // namespace mamelon::detail
