#pragma once
// Fields of the value types that fit a paste's constants from drawdowns.

#include "mamelon/drawdown.h"

#include "describe_material.h"

namespace mamelon::python {

template <>
struct Names<Geometry> {
  static constexpr const char* alias = "Geometry";
  static constexpr std::array names{std::pair{Geometry::unstated, "unstated"},
                                    std::pair{Geometry::diffuse_8_excluded, "diffuse_8_excluded"},
                                    std::pair{Geometry::diffuse_8_included, "diffuse_8_included"},
                                    std::pair{Geometry::angle_45_0, "angle_45_0"}};
};
template <>
struct Names<Backing> {
  static constexpr const char* alias = "Backing";
  static constexpr std::array names{
      std::pair{Backing::unstated, "unstated"}, std::pair{Backing::internal, "internal"},
      std::pair{Backing::seen_in_air, "seen_in_air"}, std::pair{Backing::air_gap, "air_gap"}};
};

template <>
struct Fields<Drawdown> {
  static constexpr const char* name = "Drawdown";
  static constexpr auto all() {
    using T = Drawdown;
    return std::tuple{
        needed("specimen", &T::specimen, "readings of one specimen share its error of thickness"),
        needed("thickness_mm", &T::thickness_mm, "in mm"),
        needed("geometry", &T::geometry, "how it was read"),
        needed("contact", &T::contact, "how the specimen lies on the backing"),
        needed("backing", &T::backing, "reflectance of the backing"),
        needed("measured", &T::measured, "reflectance of the specimen over it"),
        field("thickness_sd_mm", &T::thickness_sd_mm, "error of the thickness"),
        field("reflectance_sd", &T::reflectance_sd, "repeat noise of `measured`")};
  }
};
template <>
struct Fields<SpecimenThickness> {
  static constexpr const char* name = "SpecimenThickness";
  static constexpr auto all() {
    using T = SpecimenThickness;
    return std::tuple{needed("specimen", &T::specimen, "name of the specimen"),
                      needed("thickness_mm", &T::thickness_mm, "as fitted"),
                      needed("sd_mm", &T::sd_mm, "its standard deviation")};
  }
};
template <>
struct Fields<PasteFit> {
  static constexpr const char* name = "PasteFit";
  static constexpr auto all() {
    using T = PasteFit;
    return std::tuple{
        needed("absorption", &T::absorption, "Kubelka–Munk K per mm"),
        needed("scattering", &T::scattering, "Kubelka–Munk S per mm"),
        field("ln_absorption_sd", &T::ln_absorption_sd, "standard deviation of ln K, one a band"),
        field("ln_scattering_sd", &T::ln_scattering_sd, "standard deviation of ln S, one a band"),
        field("thickness", &T::thickness, "of each specimen, as fitted"),
        field("residual", &T::residual, "measured less fitted, one a drawdown"),
        field("chi_square", &T::chi_square, "of the fit"),
        field("residual_rms", &T::residual_rms, "of the reflectances"),
        field("warnings", &T::warnings, "what to know before using it")};
  }
};

}  // namespace mamelon::python
