#pragma once
// The demo photos with their cards and the simulator's truth.

#include <string>
#include <vector>

#include "mamelon/zones.h"

namespace demo {

struct Tooth {
  std::string name;
  mamelon::PointPx point;
  mamelon::BoxPx box;
  std::vector<mamelon::Lab> zones;  // cervical, middle, incisal
  mamelon::Mask outline;            // over the whole photo
};

struct Scene {
  mamelon::Photo photo;
  mamelon::Card card;
  std::array<double, 9> mm_to_px{};
  std::vector<Tooth> teeth;
  mamelon::Mask glare;  // over the whole photo
};

// `front_teeth`, `front_teeth_linear` or `front_teeth_warm`; read once.
const Scene& scene(const std::string& name);
mamelon::Card card(const std::string& name);

mamelon::Viewing d65();

// The photo turned by half a turn, and its mirror image.
mamelon::Photo turned(const mamelon::Photo& photo);
mamelon::Photo mirrored(const mamelon::Photo& photo);
// Every value times `factor`, cut at full scale.
mamelon::Photo exposed(const mamelon::Photo& photo, double factor);
// A rectangle of the card's plane painted in one colour (16-bit linear).
void paint(mamelon::Photo& photo, const std::array<double, 9>& mm_to_px, double x_mm, double y_mm,
           double width_mm, double height_mm, const std::array<std::uint16_t, 3>& rgb);

double overlap(const mamelon::Mask& found, const mamelon::Mask& truth);

}  // namespace demo
