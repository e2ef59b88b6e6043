#pragma once
// Fields of the value types of the material layer.

#include "mamelon/paste.h"
#include "mamelon/stack.h"
#include "mamelon/transport.h"

#include "describe_colour.h"

namespace mamelon::python {

template <>
struct Names<Role> {
  static constexpr const char* alias = "Role";
  static constexpr std::array names{
      std::pair{Role::opaque, "opaque"}, std::pair{Role::dentine, "dentine"},
      std::pair{Role::body, "body"}, std::pair{Role::enamel, "enamel"},
      std::pair{Role::translucent, "translucent"}};
};

template <>
struct Names<Engine> {
  static constexpr const char* alias = "Engine";
  static constexpr std::array names{std::pair{Engine::kubelka_munk, "kubelka_munk"},
                                    std::pair{Engine::transport, "transport"}};
};

template <>
struct Fields<ConstantsMode> {
  static constexpr const char* name = "ConstantsMode";
  static constexpr auto all() {
    using T = ConstantsMode;
    return std::tuple{
        needed("ln_absorption", &T::ln_absorption, "change of ln μa, one a band"),
        needed("ln_reduced_scattering", &T::ln_reduced_scattering,
               "change of ln μs(1 − g), one a band"),
        field("anisotropy", &T::anisotropy, "change of g"),
        field("refractive_index", &T::refractive_index, "change of the refractive index")};
  }
};
template <>
struct Fields<TransportConstants> {
  static constexpr const char* name = "TransportConstants";
  static constexpr auto all() {
    using T = TransportConstants;
    return std::tuple{
        needed("absorption", &T::absorption, "μa per mm, 0 or more"),
        needed("reduced_scattering", &T::reduced_scattering, "μs(1 − g) per mm, above 0"),
        field("anisotropy", &T::anisotropy, "g of Henyey and Greenstein, 0 ≤ g < 1"),
        field("modes", &T::modes, "how the constants err together, by one sd each; at most 6"),
        field("reflectance_sd", &T::reflectance_sd,
              "of a predicted reflectance, beside the modes")};
  }
};
template <>
struct Fields<Medium> {
  static constexpr const char* name = "Medium";
  static constexpr auto all() {
    return std::tuple{
        needed("absorption_per_mm", &Medium::absorption_per_mm, "μa, 0 or more"),
        needed("scattering_per_mm", &Medium::scattering_per_mm, "μs, 0 or more, unreduced"),
        field("anisotropy", &Medium::anisotropy, "g of Henyey and Greenstein, 0 ≤ g < 1")};
  }
};
template <>
struct Fields<SlabTotals> {
  static constexpr const char* name = "SlabTotals";
  static constexpr auto all() {
    return std::tuple{
        needed("r_normal", &SlabTotals::r_normal, "reflected of a beam at normal incidence"),
        needed("t_normal", &SlabTotals::t_normal, "transmitted of it"),
        needed("r_diffuse", &SlabTotals::r_diffuse, "reflected of diffuse light"),
        needed("t_diffuse", &SlabTotals::t_diffuse, "transmitted of it")};
  }
};
template <>
struct Fields<Paste> {
  static constexpr const char* name = "Paste";
  static constexpr auto all() {
    return std::tuple{
        needed("name", &Paste::name, "unique in its set"),
        needed("role", &Paste::role, "what it is made to replace"),
        needed("absorption", &Paste::absorption, "Kubelka–Munk K per mm, 0 or more"),
        needed("scattering", &Paste::scattering, "Kubelka–Munk S per mm, above 0"),
        field("refractive_index", &Paste::refractive_index, "1.3–1.8"),
        field("increment_limit_mm", &Paste::increment_limit_mm,
              "thickest portion cured at once, from the maker's instructions"),
        field("radiant_exposure_j_cm2", &Paste::radiant_exposure_j_cm2,
              "per increment, from the maker's instructions"),
        field("minimum_mm", &Paste::minimum_mm, "thinnest layer that can be placed"),
        field("maximum_mm", &Paste::maximum_mm, "thickest layer allowed"),
        field("reflectance_sd", &Paste::reflectance_sd, "model error of a predicted reflectance"),
        field("transport", &Paste::transport, "constants of radiative transfer, or None"),
        field("fitted_from_mm", &Paste::fitted_from_mm, "thinnest specimen of the fit"),
        field("fitted_to_mm", &Paste::fitted_to_mm, "thickest specimen of the fit")};
  }
  static void check(const Paste& paste) { check_paste(paste, "Paste " + in_quotes(paste.name)); }
};
template <>
struct Fields<PasteSet> {
  static constexpr const char* name = "PasteSet";
  static constexpr auto all() {
    return std::tuple{needed("name", &PasteSet::name, "of the set"),
                      needed("pastes", &PasteSet::pastes, "on one wavelength grid"),
                      field("provenance", &PasteSet::provenance, "how it was made")};
  }
  static void check(const PasteSet& pastes) { check_paste_set(pastes); }
};
template <>
struct Fields<PreparedLayer> {
  static constexpr const char* name = "PreparedLayer";
  static constexpr auto all() {
    return std::tuple{
        needed("paste", &PreparedLayer::paste, "index into the pastes that were prepared"),
        needed("thickness_mm", &PreparedLayer::thickness_mm, "above 0, in mm")};
  }
};
template <>
struct Fields<Interface> {
  static constexpr const char* name = "Interface";
  static constexpr auto all() {
    return std::tuple{
        field("k1", &Interface::k1, "external specular reflectance at normal incidence"),
        field("k2", &Interface::k2, "internal diffuse reflectance"),
        field("specular_included", &Interface::specular_included,
              "True when the instrument collects the gloss")};
  }
};
template <>
struct Fields<Layer> {
  static constexpr const char* name = "Layer";
  static constexpr auto all() {
    return std::tuple{needed("paste", &Layer::paste, "the paste of the layer"),
                      needed("thickness_mm", &Layer::thickness_mm, "above 0, in mm")};
  }
};
template <>
struct Fields<Stack> {
  static constexpr const char* name = "Stack";
  static constexpr auto all() {
    return std::tuple{
        needed("floor", &Stack::floor,
               "reflectance of the cavity's floor inside the material, in optical contact"),
        needed("layers", &Stack::layers, "from the floor outward"),
        field("specular_included", &Stack::specular_included,
              "True when the gloss counts into the predicted reflectance")};
  }
};

}  // namespace mamelon::python
