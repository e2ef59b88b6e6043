#pragma once
/// @file
/// Colour differences.

#include <array>
#include <span>
#include <string_view>

#include "mamelon/colour.h"
#include "mamelon/description.h"

namespace mamelon {

/// Parametric factors of CIEDE2000; 1:1:1 and 2:1:1 are in use in dentistry.
struct DifferenceWeights {
  double kl = 1;
  double kc = 1;
  double kh = 1;
  friend bool operator==(const DifferenceWeights&, const DifferenceWeights&) = default;
};
template <>
struct Fields<DifferenceWeights> {
  static constexpr const char* name = "DifferenceWeights";
  static constexpr auto all() {
    return FieldList{field("kl", &DifferenceWeights::kl, "parametric factor of lightness"),
                     field("kc", &DifferenceWeights::kc, "parametric factor of chroma"),
                     field("kh", &DifferenceWeights::kh, "parametric factor of hue")};
  }
};

/// CIEDE2000 (ISO/CIE 11664-6; Sharma, Wu, Dalal 2005). The mean-hue tie at 180° is decided by the
/// sign of a1'b2 − a2'b1. NaN in, NaN out. Symmetric to the bit; exactly 0 for equal colours.
[[nodiscard]] double de00(const Lab& reference, const Lab& sample,
                          const DifferenceWeights& weights = {});

/// CIEDE2000 with its signed weighted parts, sample minus reference:
/// de² = dl² + dc² + dh² + R_T·dc·dh.
struct SignedDifference {
  double de = 0;  ///< ΔE00
  double dl = 0;  ///< of lightness
  double dc = 0;  ///< of chroma
  double dh = 0;  ///< of hue
};
/// The signed parts of `de00`; NaN in, NaN out.
[[nodiscard]] SignedDifference de00_parts(const Lab& reference, const Lab& sample,
                                          const DifferenceWeights& weights = {});

/// CIELAB difference ΔE*ab (ISO/CIE 11664-4).
[[nodiscard]] double de76(const Lab& reference, const Lab& sample);

/// The constants K1, K2 of ΔE94.
enum class Application94 {
  graphic_arts,  ///< 0.045, 0.015
  textiles,      ///< 0.048, 0.014, used with kl = 2
};
template <>
struct Words<Application94> {
  static constexpr const char* name = "Application94";
  static constexpr auto words = words_of("graphic_arts", "textiles");
};
/// CIE 1994 difference (CIE 116:1995). Not symmetric: the reference's chroma weights it.
[[nodiscard]] double de94(const Lab& reference, const Lab& sample,
                          const DifferenceWeights& weights = {},
                          Application94 application = Application94::graphic_arts);

/// CMC(l:c) difference (ISO 105-J03; Clarke, McDonald, Rigg 1984, J Soc Dyers Colour 100:128–132);
/// 2:1 for acceptability, 1:1 for perceptibility. Not symmetric.
[[nodiscard]] double de_cmc(const Lab& reference, const Lab& sample, double l = 2, double c = 1);

/// DIN99o coordinates (DIN 6176:2018), ke = kch = 1.
struct Din99o {
  double l = 0;  ///< lightness L99o
  double a = 0;  ///< a99o, towards red
  double b = 0;  ///< b99o, towards yellow
  friend bool operator==(const Din99o&, const Din99o&) = default;
};
/// DIN99o coordinates of a colour (DIN 6176:2018), ke = kch = 1.
[[nodiscard]] Din99o to_din99o(const Lab& lab);
/// Distance in DIN99o, after DIN 6176:2018 with ke = kch = 1.
[[nodiscard]] double de_din99o(const Lab& reference, const Lab& sample);

/// Distance in CAM16-UCS.
[[nodiscard]] double de_cam16(const Cam16Ucs& reference, const Cam16Ucs& sample);

/// The formulas: word, source, and the difference of a reference `a` and a sample `b` under weights
/// `w`. A line here is all that a formula needs to be reached as `Formula::word` by `difference`,
/// from Python, by `mamelon diff --formula` and in the reference.
// clang-format off
#define MAMELON_FORMULAS(formula)                                                        \
  formula(de00, "CIEDE2000, ISO/CIE 11664-6", mamelon::de00(a, b, w))                    \
  formula(de76, "CIELAB ΔE*ab, ISO/CIE 11664-4", mamelon::de76(a, b))                    \
  formula(de94, "CIE 1994 for graphic arts, CIE 116:1995", mamelon::de94(a, b, w))       \
  formula(cmc, "CMC(l:c), ISO 105-J03; kl and kc are l and c", de_cmc(a, b, w.kl, w.kc)) \
  formula(din99o, "DIN99o, DIN 6176:2018", de_din99o(a, b))
// clang-format on

/// A colour-difference formula chosen by the caller.
enum class Formula {
/// The word of a formula.
#define MAMELON_FORMULA(word, source, difference) word,
  MAMELON_FORMULAS(MAMELON_FORMULA)
#undef MAMELON_FORMULA
};
template <>
struct Words<Formula> {
  static constexpr const char* name = "Formula";
/// The text of that word.
#define MAMELON_FORMULA(word, source, difference) std::string_view(#word),
  static constexpr auto words = std::to_array({MAMELON_FORMULAS(MAMELON_FORMULA)});
#undef MAMELON_FORMULA
};
/// What it is and where it is published.
[[nodiscard]] std::string_view source_of(Formula formula);

/// A colour-difference formula with its own settings.
struct DifferenceFormula {
  Formula formula = Formula::de00;
  /// kl, kc, kh of CIEDE2000 and ΔE94; kl and kc are l and c of CMC(l:c). The rest ignore them.
  DifferenceWeights weights;
  friend bool operator==(const DifferenceFormula&, const DifferenceFormula&) = default;
};
template <>
struct Fields<DifferenceFormula> {
  static constexpr const char* name = "DifferenceFormula";
  static constexpr auto all() {
    return FieldList{field("formula", &DifferenceFormula::formula, "which one"),
                     field("weights", &DifferenceFormula::weights,
                           "kl, kc, kh; kl and kc are l and c of CMC(l:c)")};
  }
};
/// The difference of two colours by a formula. Throws ArgumentError for settings out of range.
[[nodiscard]] double difference(const Lab& reference, const Lab& sample,
                                const DifferenceFormula& formula);
/// Row by row; a row with a NaN gives NaN. Throws ArgumentError when the sizes differ.
void difference_rows(std::span<const Lab> reference, std::span<const Lab> sample,
                     std::span<double> de, const DifferenceFormula& formula);
/// Every row with every column: `de[i * columns.size() + j]`. Throws ArgumentError when `de` has
/// another size than the product.
void difference_table(std::span<const Lab> rows, std::span<const Lab> columns, std::span<double> de,
                      const DifferenceFormula& formula);

}  // namespace mamelon
