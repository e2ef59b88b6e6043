#pragma once
/// @file
/// What differences mean: thresholds with their sources, words, translucency and coverage.

#include <span>
#include <string_view>
#include <vector>

#include "mamelon/description.h"
#include "mamelon/difference.h"
#include "mamelon/viewing.h"

namespace mamelon {

/// 50:50 % thresholds of the median observer.
namespace threshold {
/// Perceptibility and acceptability, CIEDE2000(1:1:1): Paravina et al. 2015, J Esthet Restor Dent
/// 27:S1–S9; the values ISO/TR 28642:2016 gives (from memory).
inline constexpr double perceptible_de00 = 0.8;
inline constexpr double acceptable_de00 = 1.8;
/// The same study in ΔE*ab.
inline constexpr double perceptible_de76 = 1.2;
inline constexpr double acceptable_de76 = 2.7;
/// By attribute, CIEDE2000(1:1:1), 40 observers of simulated teeth on a display: lightness and
/// chroma parts dL00, dC00 (Perez and others, "CIEDE2000 (KL:KC:KH) thresholds for lightness,
/// chroma and hue"; authors from memory).
inline constexpr double perceptible_lightness_00 = 1.04;
inline constexpr double acceptable_lightness_00 = 2.82;
inline constexpr double perceptible_chroma_00 = 1.58;
inline constexpr double acceptable_chroma_00 = 3.04;
/// Difference of translucency parameters: Salas et al. 2018, Dent Mater 34:1168–1174 (pages from
/// memory); 30 observers, composite discs of 1 mm.
inline constexpr double perceptible_translucency_00 = 0.62;
inline constexpr double acceptable_translucency_00 = 2.62;
inline constexpr double perceptible_translucency_ab = 1.33;
inline constexpr double acceptable_translucency_ab = 4.43;
/// Difference of whiteness indices for dentistry: Perez et al. 2019, Dent Mater 35:292–297 (from
/// memory; 2.60 also as quoted by Karakaya, Cengiz-Yanardag 2022, Cyprus J Med Sci 7:395–403).
inline constexpr double perceptible_whiteness = 0.72;
inline constexpr double acceptable_whiteness = 2.60;
}  // namespace threshold

/// Graded by PT, AT, 2·AT, 3·AT (Paravina, Perez, Ghinea 2019, J Esthet Restor Dent 31:103–112,
/// from memory).
enum class Grade { excellent, acceptable, moderate_mismatch, clear_mismatch, extreme_mismatch };
template <>
struct Words<Grade> {
  static constexpr const char* name = "Grade";
  static constexpr auto words = words_of("excellent", "acceptable", "moderate_mismatch",
                                         "clear_mismatch", "extreme_mismatch");
};
/// The band of a ΔE00.
[[nodiscard]] Grade grade(double de00);
/// The same bands for a ΔE*ab, by its own PT and AT.
[[nodiscard]] Grade grade_76(double de76);

/// Translucency parameter: colour difference between the same layer over white and over black.
[[nodiscard]] double translucency_ab(const Lab& over_white, const Lab& over_black);
[[nodiscard]] double translucency_00(const Lab& over_white, const Lab& over_black,
                                     const DifferenceWeights& weights = {});
/// Contrast ratio Y_black / Y_white.
[[nodiscard]] double contrast_ratio(double y_over_black, double y_over_white);

/// Coverage error: mean over `teeth` of the least CIEDE2000 to any of `tabs`.
[[nodiscard]] double coverage_error(std::span<const Lab> teeth, std::span<const Lab> tabs,
                                    const DifferenceWeights& weights = {});

/// Mean colour difference from the mean of repeat readings (ASTM E2214). Throws ArgumentError for
/// no colour.
[[nodiscard]] double mcdm(std::span<const Lab> repeats, const DifferenceFormula& formula);

/// Whiteness index for dentistry 0.511 L* − 2.324 a* − 1.100 b*, higher is whiter; for CIELAB under
/// D65 and the 2° observer (Perez et al. 2016, Dent Mater 32:461–467, from memory).
[[nodiscard]] double whiteness_index_dentistry(const Lab& lab);

/// Yellowness index of ASTM E313, 100 (Cx X − Cz Z) / Y. Throws ArgumentError for a viewing other
/// than C or D65 with 2° or 10°, the ones the standard gives constants for, or for Y of 0.
[[nodiscard]] double yellowness_e313(const Xyz& xyz, const Viewing& viewing);

/// How far apart two specimens that match under one light fall under another.
struct Metamerism {
  Viewing viewing;
  double residual = 0;
  double uncorrected = 0;
  double multiplicative = 0;
  double additive = 0;
};
template <>
struct Fields<Metamerism> {
  static constexpr const char* name = "Metamerism";
  static Metamerism blank() { return {.viewing = mamelon::blank<Viewing>()}; }
  static constexpr auto all() {
    using T = Metamerism;
    return FieldList{
        needed("viewing", &T::viewing, "the other light"),
        field("residual", &T::residual, "difference under the reference illuminant, same observer"),
        field("uncorrected", &T::uncorrected, "difference under `viewing` as it is"),
        field("multiplicative", &T::multiplicative, "residual removed by ratios of X, Y and Z"),
        field("additive", &T::additive, "residual removed by differences of X, Y and Z")};
  }
};
/// Special metamerism index, change in illuminant (CIE 015:2018, 9.2; corrections of the residual
/// mismatch in XYZ as ISO 18314-4): for every light under 2°, then under 10°. The first curve is
/// the reference. Throws ArgumentError for unequal grids, a black specimen or no light.
[[nodiscard]] std::vector<Metamerism> special_metamerism(const Reflectance& reference,
                                                         const Reflectance& sample,
                                                         const Illuminant& reference_light,
                                                         std::span<const Illuminant> lights,
                                                         const DifferenceFormula& formula);

}  // namespace mamelon
