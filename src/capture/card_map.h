#pragma once
// From the card's samples to a fitted correction.

#include "mamelon/image.h"

#include "capture/correction.h"
#include "capture/patches.h"

namespace mamelon::detail {

struct CardMap {
  CorrectionMethod method = CorrectionMethod::matrix;
  LightField light = {};
  std::optional<Tone> tone = {};
  Training training;  // the used patches in order, then the white base where it trained
  std::unique_ptr<ColourMap> map = {};
  std::unique_ptr<ColourMap> second_opinion = {};
  std::vector<LeaveOneOut> errors = {};  // of each training patch; empty for a grey card
  ErrorModel error_model = {};
  double disagreement = 0;  // typical square of the standardised leave-one-out errors
  // Why a plainer map than the card allows was fitted; empty: it was not.
  std::string fallback = {};
};

// Throws CaptureError when the usable patches are too few for any method, or for the one asked for.
CardMap card_map(const CardSamples& samples, const Card& card, Encoding encoding,
                 const Viewing& viewing, const CardFitOptions& options);

// The same from surfaces of known colour without a card.
CardMap surfaces_map(Training training, const LightField& light, Encoding encoding);

// The user's own tabs in the photo. What their Lab may be off by is not stated: about as much as
// repeat readings of an instrument differ by (common practice). Throws ArgumentError for a surface
// without a colour.
std::vector<Anchor> anchors_of(const Photo& photo, const std::vector<KnownSurface>& surfaces,
                               const Viewing& viewing);

std::shared_ptr<const FittedCorrection> correction_of(CardMap c, std::vector<Anchor> anchors,
                                                      const std::optional<LightDrift>& drift);

// What the variance that the response estimate states is multiplied by where the patches disagree
// more than those of honest cards usually do.
double disagreement_factor(double disagreement);
// Typical square of the standardised errors, 1 where they are as stated; a few odd patches, such as
// the ends of a tone curve, do not move it.
double typical_standardised(const std::vector<LeaveOneOut>& errors);

// Patch names joined by commas.
std::string list_of(const std::vector<std::string>& names);
std::vector<std::string> names_with_reason(const CardSamples& samples, std::string_view reason);

// Squared errors over the covariance that the response estimate states, found by simulation with
// cameras and lights that no part of the prior has seen.
inline constexpr double usual_variance_factor = 0.9;

// A larger `disagreement` means that the patches' stated spectra are not what the photo shows. Of
// simulated photos of honest cards 1 in 180 linear ones reaches it, and of sRGB JPEG files, whose
// rounding shows where there is little noise, 36 in 240.
inline constexpr double disagreement_limit = 0.7;

}  // namespace mamelon::detail
