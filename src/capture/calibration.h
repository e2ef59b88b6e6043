#pragma once
// From the card's samples to a fitted correction.

#include "mamelon/image.h"

#include "capture/correction.h"
#include "capture/patches.h"

namespace mamelon::detail {

struct Calibration {
  CorrectionMethod method = CorrectionMethod::matrix;
  LightField light;
  std::optional<Tone> tone;
  Training training;  // the used patches in order, then the white base where it trained
  std::unique_ptr<ColourMap> map;
  std::unique_ptr<ColourMap> second_opinion;
  std::vector<LeaveOneOut> errors;  // of each training patch; empty for a grey card
  ErrorModel error_model;
  double disagreement = 0;  // mean square of the standardised leave-one-out errors
};

// Throws CaptureError when the usable patches are too few for any method, or for the one asked for.
Calibration calibrate(const CardSamples& samples, const Card& card, Encoding encoding,
                      const Viewing& viewing, const CardFitOptions& options);

// Patch names joined by commas.
std::string list_of(const std::vector<std::string>& names);
std::vector<std::string> names_with_reason(const CardSamples& samples, std::string_view reason);

// Leave-one-out errors larger than stated by more than this (mean square) mean that the patches'
// stated spectra are not what the photo shows.
inline constexpr double disagreement_limit = 4;

}  // namespace mamelon::detail
