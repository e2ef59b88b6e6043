#pragma once
/// @file
/// Layered pastes over a floor, and the reflectance they show.

#include <string>
#include <vector>

#include "mamelon/description.h"
#include "mamelon/paste.h"

namespace mamelon {

/// Reflectance over an ideal black and transmittance of one layer, inside the material.
struct LayerOptics {
  double r0 = 0;  ///< reflectance over black, 0–1
  double t = 1;   ///< transmittance, 0–1
};
/// Kubelka–Munk layer in the form without cancellation or overflow: exact at K = 0, at S = 0 and
/// for any thickness (Kubelka 1948, J Opt Soc Am 38:448, rearranged). `k_per_mm` ≥ 0, `s_per_mm`
/// ≥ 0, `thickness_mm` ≥ 0; unchecked.
[[nodiscard]] LayerOptics layer_optics(double k_per_mm, double s_per_mm, double thickness_mm);
/// Reflectance of a layer in contact with a floor of internal reflectance `floor`.
[[nodiscard]] double over(const LayerOptics& layer, double floor);
/// Two layers as one, `upper` on `lower` (Kubelka 1954, J Opt Soc Am 44:330).
struct TwoSidedOptics {
  double r_top = 0;     ///< reflectance from above, 0–1
  double r_bottom = 0;  ///< reflectance from below, 0–1
  double t = 1;         ///< transmittance, the same both ways
};
/// The two layers together, seen from above and from below.
[[nodiscard]] TwoSidedOptics stacked(const TwoSidedOptics& upper, const TwoSidedOptics& lower);

/// The surface between material and air (Saunderson 1942, J Opt Soc Am 32:727).
struct Interface {
  double k1 = 0.04;
  double k2 = 0.59635;
  bool specular_included = false;
};
template <>
struct Fields<Interface> {
  static constexpr const char* name = "Interface";
  static constexpr auto all() {
    return FieldList{
        field("k1", &Interface::k1, "external specular reflectance at normal incidence"),
        field("k2", &Interface::k2, "internal diffuse reflectance"),
        field("specular_included", &Interface::specular_included,
              "True when the instrument collects the gloss")};
  }
};
/// Fresnel constants of a smooth surface: k1 at normal incidence, k2 = 1 − (1 − r_e)/n² with r_e
/// the diffuse external reflectance. Throws ArgumentError for an index outside 1.01–2.
[[nodiscard]] Interface interface_of(double refractive_index, bool specular_included);
/// What an instrument outside reads of the internal reflectance:
/// [k1] + (1 − k1)(1 − k2) R / (1 − k2 R), the bracket only with specular included.
[[nodiscard]] double to_measured(double internal, const Interface& surface);
/// The inverse of `to_measured`; negative where `measured` lies below an included k1.
[[nodiscard]] double to_internal(double measured, const Interface& surface);

/// A paste in a thickness.
struct Layer {
  Paste paste;
  double thickness_mm = 0;
};
template <>
struct Fields<Layer> {
  static constexpr const char* name = "Layer";
  static constexpr auto all() {
    return FieldList{needed("paste", &Layer::paste, "the paste of the layer"),
                     needed("thickness_mm", &Layer::thickness_mm, "above 0, in mm")};
  }
};

/// Layers from the floor outward. `floor` is the reflectance of the prepared cavity's floor inside
/// the material, that is in optical contact with the first layer.
struct Stack {
  Reflectance floor;
  std::vector<Layer> layers;
  bool specular_included = false;
};
template <>
struct Fields<Stack> {
  static constexpr const char* name = "Stack";
  static constexpr auto all() {
    return FieldList{
        needed("floor", &Stack::floor,
               "reflectance of the cavity's floor inside the material, in optical contact"),
        needed("layers", &Stack::layers, "from the floor outward"),
        field("specular_included", &Stack::specular_included,
              "True when the gloss counts into the predicted reflectance")};
  }
};

/// The reflectance seen outside, 0–1 on the stack's grid; the surface is that of the outermost
/// paste. Throws ArgumentError for no layer, unequal grids, a floor outside 0–1, a paste refused by
/// `check_paste` or a thickness that is not positive, ModelError for more than 30 mm in all.
[[nodiscard]] Reflectance predict(const Stack& stack);

/// What to know before trusting the prediction: a sentence for each layer whose thickness lies
/// outside those its paste was fitted to.
[[nodiscard]] std::vector<std::string> extrapolations(const Stack& stack);

}  // namespace mamelon
