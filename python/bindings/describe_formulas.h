#pragma once
// Fields of the value types of further formulas: other colour spaces, differences, metamerism.

#include "describe_colour.h"

namespace mamelon::python {

template <>
struct Names<Surround> {
  static constexpr const char* alias = "Surround";
  static constexpr std::array names{std::pair{Surround::average, "average"},
                                    std::pair{Surround::dim, "dim"},
                                    std::pair{Surround::dark, "dark"}};
};
template <>
struct Names<Application94> {
  static constexpr const char* alias = "Application94";
  static constexpr std::array names{std::pair{Application94::graphic_arts, "graphic_arts"},
                                    std::pair{Application94::textiles, "textiles"}};
};
template <>
struct Names<Formula> {
  static constexpr const char* alias = "Formula";
  static constexpr std::array names{
      std::pair{Formula::de00, "de00"}, std::pair{Formula::de76, "de76"},
      std::pair{Formula::de94, "de94"}, std::pair{Formula::cmc, "cmc"},
      std::pair{Formula::din99o, "din99o"}};
};

template <>
struct Fields<DifferenceFormula> {
  static constexpr const char* name = "DifferenceFormula";
  static constexpr auto all() {
    return std::tuple{field("formula", &DifferenceFormula::formula, "which one"),
                      field("weights", &DifferenceFormula::weights,
                            "kl, kc, kh; kl and kc are l and c of CMC(l:c)")};
  }
};
template <>
struct Fields<Cam16Conditions> {
  static constexpr const char* name = "Cam16Conditions";
  static constexpr auto all() {
    using T = Cam16Conditions;
    return std::tuple{
        needed("white", &T::white, "tristimulus values of the white, Y = 1"),
        needed("adapting_luminance_cd_m2", &T::adapting_luminance_cd_m2, "above 0"),
        needed("background_y", &T::background_y, "Y of the background, in (0, 1]; often 0.2"),
        needed("surround", &T::surround, "how light or dark it is around")};
  }
};
template <>
struct Fields<Metamerism> {
  static constexpr const char* name = "Metamerism";
  static Metamerism blank() { return {.viewing = Fields<Viewing>::blank()}; }
  static constexpr auto all() {
    using T = Metamerism;
    return std::tuple{
        needed("viewing", &T::viewing, "the other light"),
        field("residual", &T::residual, "difference under the reference light"),
        field("uncorrected", &T::uncorrected, "difference under `viewing` as it is"),
        field("multiplicative", &T::multiplicative, "residual removed by ratios of X, Y and Z"),
        field("additive", &T::additive, "residual removed by differences of X, Y and Z")};
  }
};

// The part that does not depend on what was measured.
template <class T>
struct MeasuredFields {
  static constexpr auto all() {
    using M = Measured<T>;
    return std::tuple{needed("value", &M::value, "what was measured"),
                      field("random", &M::random, "3×3 covariance that shrinks under averaging"),
                      field("shared", &M::shared, "3×3 covariance common to all readings"),
                      field("dof", &M::dof, "degrees of freedom behind `random`")};
  }
};
template <>
struct Fields<Measured<Xyz>> : MeasuredFields<Xyz> {
  static constexpr const char* name = "MeasuredXyz";
};
template <>
struct Fields<Measured<Lch>> : MeasuredFields<Lch> {
  static constexpr const char* name = "MeasuredLch";
};

}  // namespace mamelon::python
