#include "capture/card_map.h"

#include <algorithm>

#include "mamelon/difference.h"
#include "mamelon/error.h"

#include "capture/grey_map.h"
#include "capture/residual_map.h"
#include "capture/response_map.h"
#include "colour/vectors.h"

namespace mamelon::detail {
namespace {

constexpr std::size_t min_patches_matrix = 6;
constexpr std::size_t min_patches_roots = 16;

// `disagreement` of honest cards in the same simulation; more widens the interval.
constexpr double usual_disagreement = 0.4;
// The same where a tone curve is fitted anew for every neutral left out.
constexpr double usual_toned_disagreement = 0.8;
// Where the stated spectra do not explain the photo, the map's own covariance means nothing, and
// what patches of tooth-like colour miss by when left out tells best how far teeth are off. Squared
// errors of teeth over squared errors of patches, 95 % points, of metameric cards in the same
// simulation.
constexpr double unexplained_factor = 4.5;
// From `disagreement_limit` on; fully so this much above it.
constexpr double disagreement_ramp = 0.3;
// The variance factor of the residual map. Its covariance says little beside its leave-one-out
// errors, which count more where they disagree with what it states, as those of metameric patches
// do.
constexpr double residual_variance_factor = 0.3;
constexpr double usual_residual_disagreement = 0.6;

// Mean square of the standardised errors near tooth colours of honest cards, 95 % point in
// simulation; more widens the interval.
constexpr double usual_near_disagreement = 1.5;
// With a fitted tone curve at least this part of what patches near tooth colours are missed by
// stays in the interval.
constexpr double least_toned_part = 0.25;
// Patches near tooth colours of honest cards are missed by less than this when left out.
constexpr double told_de00 = 1.5;
// Patches that are farther off than this do not agree with the card; a third of them may not be.
constexpr double far_off_de00 = 3;
// Of a plain map fitted to a rendered photo: found with three photos of charts by two cameras,
// whose patches were left out one at a time.
constexpr double rendered_variance_factor = 0.15;
constexpr double rendered_leave_one_out_factor = 0.5;
// Real renderings read by a plain matrix miss by less near tooth colours, another card by far more.
constexpr double plausible_de00 = 4.5;

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

// Light, tone and training patches. A tone curve and the light depend on each other through
// neutrals at unequally lit places: three rounds settle them.
void prepare(CardMap& c, const CardSamples& samples, const Card& card, Encoding encoding,
             const Viewing& viewing) {
  if (encoding != Encoding::camera_rendering) {
    c.light = fit_light(samples, card, nullptr);
    c.training = make_training(samples, card, c.light, viewing);
    return;
  }
  constexpr int rounds = 3;
  for (int round = 0; round < rounds; ++round) {
    c.training = make_training(samples, card, c.light, viewing);
    c.tone.emplace(fit_tone(c.training.patches));
    c.light = fit_light(samples, card, &*c.tone);
  }
  c.training = make_training(samples, card, c.light, viewing);
  c.tone.emplace(fit_tone(c.training.patches));
  for (TrainingPatch& p : c.training.patches) apply_tone(*c.tone, p);
}

std::size_t neutrals_of(const CardSamples& samples, const Card& card) {
  std::size_t count = 0;
  for (std::size_t i = 0; i < card.patches.size(); ++i) {
    if (card.patches[i].neutral && samples.patches[i].used) ++count;
  }
  return count;
}

bool all_spectra(const Training& training) {
  return std::all_of(training.patches.begin(), training.patches.end(),
                     [](const TrainingPatch& p) { return p.reflectance.size() > 0; });
}

CorrectionMethod best_method(const Training& training) {
  const std::size_t n = training.patches.size();
  const auto coloured = std::count_if(training.patches.begin(), training.patches.end(),
                                      [](const TrainingPatch& p) { return !p.neutral; });
  if (n < min_patches_matrix || coloured < 3) return CorrectionMethod::grey;
  return all_spectra(training) ? CorrectionMethod::response_estimate : CorrectionMethod::matrix;
}

MapFitter fitter_of(CorrectionMethod method, const Training& training, Encoding encoding) {
  switch (method) {
    case CorrectionMethod::response_estimate: {
      if (!all_spectra(training)) {
        throw ArgumentError("the response estimate needs the reflectance of every patch");
      }
      const auto model = response_model(training.viewing);
      return [model](const Training& t) { return fit_response(t, model); };
    }
    case CorrectionMethod::matrix:
      return fit_matrix_with_residual;
    case CorrectionMethod::root_polynomial:
      return fit_root_polynomial;
    case CorrectionMethod::grey:
      return [encoding](const Training& t) { return fit_grey(t, encoding); };
    case CorrectionMethod::tabs:
      return [encoding](const Training& t) { return fit_tabs(t, encoding); };
  }
  throw ArgumentError("unknown correction method");
}

// The ends of a tone curve disagree with any card: with `toned` the errors of patches near tooth
// colours count in their place, always.
ErrorModel response_error_model(const std::optional<CardDesign>& design,
                                const std::vector<LeaveOneOut>& errors, double disagreement,
                                bool toned) {
  const double factor = design ? design->variance_factor : usual_variance_factor;
  const double near = standardised_near_teeth(errors);
  const double unexplained =
      toned ? std::clamp(near / usual_near_disagreement, least_toned_part, 1.0)
            : std::clamp((disagreement - disagreement_limit) / disagreement_ramp, 0.0, 1.0);
  const double spread = toned ? std::max(1.0, disagreement / usual_toned_disagreement)
                              : disagreement_factor(disagreement);
  return {.map_variance_factor = factor * std::max(spread, near / usual_near_disagreement),
          .leave_one_out_factor = (toned ? 1.0 : unexplained_factor) * unexplained};
}

// The error model of the plain map, and the other map that it is compared with.
void describe_plain(CardMap& c) {
  if (c.method == CorrectionMethod::matrix) {
    c.error_model = {
        .map_variance_factor = residual_variance_factor,
        .leave_one_out_factor = std::max(1.0, c.disagreement / usual_residual_disagreement)};
  }
  c.second_opinion = c.method == CorrectionMethod::matrix ? fit_root_polynomial(c.training)
                                                          : fit_matrix(c.training);
}

void choose_map(CardMap& c, const Card& card, Encoding encoding) {
  const MapFitter fit = fitter_of(c.method, c.training, encoding);
  c.map = fit(c.training);
  c.second_opinion = nullptr;
  if (c.method == CorrectionMethod::grey) {
    c.errors.clear();
    c.error_model = {.map_variance_factor = 1, .leave_one_out_factor = 0};
    return;
  }
  c.errors = leave_one_out(c.training, fit, c.tone.has_value());
  c.disagreement = typical_standardised(c.errors);
  if (c.method == CorrectionMethod::response_estimate) {
    c.error_model = response_error_model(card.design, c.errors, c.disagreement, c.tone.has_value());
  } else {
    describe_plain(c);
  }
}

// A response is told where patches near tooth colours are read about as well as in any simulated
// photo of an honest card when they are left out.
bool is_told(const CardMap& c) {
  const auto far = std::count_if(c.errors.begin(), c.errors.end(), [](const LeaveOneOut& e) {
    const Lab& r = e.reference;
    return de00(r, {r.l + e.error[0], r.a + e.error[1], r.b + e.error[2]}) > far_off_de00;
  });
  const bool agree = 3 * static_cast<std::size_t>(far) <= c.errors.size();
  return agree && de00_near_teeth(c.errors) <= told_de00;
}

}  // namespace

double disagreement_factor(double disagreement) {
  return std::max(1.0, disagreement / usual_disagreement);
}

double typical_standardised(const std::vector<LeaveOneOut>& errors) {
  std::vector<double> squares;
  for (const LeaveOneOut& e : errors) squares.push_back(e.standardised);
  const auto middle = squares.begin() + static_cast<std::ptrdiff_t>(squares.size() / 2);
  std::nth_element(squares.begin(), middle, squares.end());
  constexpr double chi_squared_median = 0.789;  // of three degrees of freedom, over three
  return *middle / chi_squared_median;
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

CardMap card_map(const CardSamples& samples, const Card& card, Encoding encoding,
                 const Viewing& viewing, const CardFitOptions& options) {
  const Training none{.patches = {}, .viewing = viewing, .white = white_point(viewing)};
  CardMap c{.training = none};
  const bool rendered = encoding == Encoding::camera_rendering;
  const bool tone_told = !rendered || neutrals_of(samples, card) > min_tone_neutrals;
  if (!tone_told && !options.method) {
    c.fallback = "a camera's own rendering needs " + std::to_string(min_tone_neutrals + 1) +
                 " usable neutral patches: the file is taken as sRGB, and a plain matrix fitted";
    encoding = Encoding::srgb_assumed;
  }
  prepare(c, samples, card, encoding, viewing);
  c.method = options.method.value_or(best_method(c.training));
  const std::size_t used = c.training.patches.size();
  if (c.method == CorrectionMethod::tabs) {
    throw ArgumentError("the method 'tabs' is for photos without a card: use fit_surfaces");
  }
  if (c.method == CorrectionMethod::grey) {
    // A card of colours of which only the greys survived is over- or under-exposed, not grey.
    const bool meant_as_grey = options.method || card.patches.size() < min_patches_matrix;
    if (!meant_as_grey) check_enough(samples, used, min_patches_matrix);
  } else {
    check_enough(
        samples, used,
        c.method == CorrectionMethod::root_polynomial ? min_patches_roots : min_patches_matrix);
  }
  if (!c.fallback.empty() && c.method == CorrectionMethod::response_estimate) {
    c.method = CorrectionMethod::matrix;
  }
  choose_map(c, card, encoding);
  if (options.method || c.method != CorrectionMethod::response_estimate || is_told(c)) return c;
  // The camera's response cannot be told: its own rendering, or spectra that are not the card's.
  if (encoding == Encoding::linear) return c;
  CardMap plain{
      .method = CorrectionMethod::matrix, .light = c.light, .tone = c.tone, .training = c.training};
  choose_map(plain, card, encoding);
  if (rendered) {
    // The curve through the greys may be worse than none.
    CardMap untoned{.method = CorrectionMethod::matrix, .training = none};
    prepare(untoned, samples, card, Encoding::srgb_assumed, viewing);
    choose_map(untoned, card, Encoding::srgb_assumed);
    if (de00_near_teeth(untoned.errors) < de00_near_teeth(plain.errors)) plain = std::move(untoned);
  }
  if (de00_near_teeth(plain.errors) > plausible_de00) return c;
  plain.error_model = {.map_variance_factor = rendered_variance_factor,
                       .leave_one_out_factor = rendered_leave_one_out_factor};
  plain.fallback =
      "the camera's response cannot be told from the patches (a camera's own rendering, or spectra "
      "that are not the card's): a plain matrix was fitted, with a wide interval; a raw, linear or "
      "unrendered sRGB export measures far better";
  return plain;
}

CardMap surfaces_map(Training training, const LightField& light, Encoding encoding) {
  const bool many = training.patches.size() >= min_patches_matrix && all_spectra(training);
  CardMap c{.method = many ? CorrectionMethod::response_estimate : CorrectionMethod::tabs,
            .light = light,
            .training = std::move(training)};
  const MapFitter fit = fitter_of(c.method, c.training, encoding);
  c.map = fit(c.training);
  if (c.training.patches.size() > 1) c.errors = leave_one_out(c.training, fit, false);
  if (many) {
    c.disagreement = typical_standardised(c.errors);
    c.error_model = response_error_model(std::nullopt, c.errors, c.disagreement, false);
  } else {
    // What tabs say of each other is what they say of the tooth: no factor makes it less.
    c.error_model = {.map_variance_factor = 1, .leave_one_out_factor = 1};
  }
  return c;
}

std::vector<Anchor> anchors_of(const Photo& photo, const std::vector<KnownSurface>& surfaces,
                               const Viewing& viewing) {
  constexpr double lab_sd = 0.3;
  std::vector<Anchor> anchors;
  for (const KnownSurface& surface : surfaces) {
    if (!surface.lab && !surface.reflectance) {
      throw ArgumentError("surface '" + surface.name + "' has neither a Lab nor a reflectance");
    }
    anchors.push_back(
        {.signal = box_signal(photo, surface.box, SurfaceKind::tab),
         .lab = surface.reflectance ? to_lab(*surface.reflectance, viewing) : *surface.lab,
         .covariance = Eigen::Matrix3d::Identity() * lab_sd * lab_sd});
  }
  return anchors;
}

std::shared_ptr<const FittedCorrection> correction_of(CardMap c, std::vector<Anchor> anchors,
                                                      const std::optional<LightDrift>& drift) {
  return std::make_shared<FittedCorrection>(
      FittedCorrection::Parts{.method = c.method,
                              .light = c.light,
                              .tone = std::move(c.tone),
                              .map = std::move(c.map),
                              .second_opinion = std::move(c.second_opinion),
                              .white = c.training.white,
                              .errors = std::move(c.errors),
                              .error_model = c.error_model,
                              .anchors = std::move(anchors),
                              .drift = drift});
}

}  // namespace mamelon::detail
