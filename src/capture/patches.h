#pragma once
// The card's patches and white areas as the photo shows them.

#include <vector>

#include "mamelon/kept_fit.h"

#include "capture/colour_map.h"
#include "capture/fiducials.h"
#include "capture/light_field.h"
#include "capture/sampling.h"
#include "capture/tone.h"

namespace mamelon::detail {

struct CardSamples {
  std::vector<PatchFit> patches;  // colours, and why a patch is left out
  std::vector<PointPx> centres;   // of the patches
  std::vector<RegionSample> whites;
  std::vector<RegionSample> blank;  // of a photo of a blank white field, where one was taken
  std::vector<PointPx> corners;     // of patches and white areas, used or not
  PointPx centre;                   // of the card
  double unit_px = 1;
  double px_per_mm = 1;  // at the card's centre
};

// Reads the card in the photo. Throws ArgumentError for an excluded name that no patch has.
KeptFit sample_card(const Photo& photo, const Card& card, const CardPose& pose,
                    const CardFitOptions& options);
// The same with what follows from it under a viewing.
CardSamples samples_of(const KeptFit& kept, const Viewing& viewing);

// Why a sample cannot be used; empty when it can.
std::string reason_against(const RegionSample& sample);

// A reflectance as the maps take it.
Eigen::VectorXd on_response_grid(const Reflectance& reflectance);

// Light over the photo from the white areas and, in files that follow light, the neutral patches.
// `tone`, where given, undoes a camera's own rendering first.
LightField fit_light(const CardSamples& samples, const Card& card, const Tone* tone);

// The used patches under even light, and the white base where its colour is stated.
Training make_training(const CardSamples& samples, const Card& card, const LightField& light,
                       const Viewing& viewing);

}  // namespace mamelon::detail
