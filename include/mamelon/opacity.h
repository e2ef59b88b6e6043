#pragma once
/// @file
/// How much of what lies under a layer shows through it.

#include <array>
#include <optional>

#include "mamelon/appearance.h"
#include "mamelon/description.h"
#include "mamelon/stack.h"
#include "mamelon/transport.h"
#include "mamelon/viewing.h"

namespace mamelon {

/// How translucent a paste is, and which depth hides its floor.
struct Opacity {
  double thickness_mm = 1;
  double tp00 = 0;
  double tp_ab = 0;
  double contrast_ratio = 0;
  /// The depth from which black and white floors cannot be told apart: ΔE00 between them is at most
  /// the perceptibility threshold. Nothing where 30 mm do not suffice.
  std::optional<double> infinite_mm;
  /// Where that depth lies with 95 %, by the modes of error of the paste's transport constants.
  /// Nothing where it has none, or where they reach beyond 30 mm.
  std::optional<std::array<double, 2>> infinite_95_mm;
};
template <>
struct Fields<Opacity> {
  static constexpr const char* name = "Opacity";
  static constexpr auto all() {
    using T = Opacity;
    return FieldList{
        needed("thickness_mm", &T::thickness_mm, "of the layer"),
        needed("tp00", &T::tp00, "translucency parameter, CIEDE2000 between white and black floor"),
        needed("tp_ab", &T::tp_ab, "the same as ΔE*ab"),
        needed("contrast_ratio", &T::contrast_ratio, "Y over black / Y over white"),
        needed("infinite_mm", &T::infinite_mm, "depth that hides the floor; None beyond 30 mm")
            .null(),
        field("infinite_95_mm", &T::infinite_95_mm, "where it lies with 95 %; None: not known")
            .null()};
  }
};

/// Over floors of internal reflectance `black` and `white`, in optical contact. The d:8 reading
/// with the specular part excluded. Throws ArgumentError unless 0 ≤ black < white ≤ 1, and as
/// `predict`.
[[nodiscard]] Opacity opacity(const Paste& paste, Engine engine, const Viewing& viewing,
                              double thickness_mm = 1, double black = 0, double white = 1);

/// How thin an opaque paste masks a floor.
struct Masking {
  double thickness_mm = 0;
  /// Where that lies with 95 %, as `Opacity::infinite_95_mm`.
  std::optional<std::array<double, 2>> thickness_95_mm;
  double coat_mm = 0.1;
  /// Coats that mask with 95 %, or where no error is known on average.
  int coats = 0;
};
template <>
struct Fields<Masking> {
  static constexpr const char* name = "Masking";
  static constexpr auto all() {
    using T = Masking;
    return FieldList{
        needed("thickness_mm", &T::thickness_mm, "least that masks the floor").in("mm"),
        needed("coat_mm", &T::coat_mm, "of one coat").in("mm"),
        needed("coats", &T::coats, "that mask the floor with 95 %"),
        field("thickness_95_mm", &T::thickness_95_mm,
              "where the thickness lies with 95 %; None: not known")
            .null()};
  }
};

/// The least thickness of a paste over `floor` (its reflectance inside the paste, in optical
/// contact) from which the colour differs from that of the paste alone by at most `de00`, and the
/// coats of `coat_mm` that reach it. Nothing where 30 mm do not. Coats are thinner than an
/// increment: each is cured before the next. Throws ArgumentError unless `coat_mm` lies in 0.01 to
/// 2 and `de00` above 0, and as `predict`.
[[nodiscard]] std::optional<Masking> masking(const Paste& paste, Engine engine,
                                             const Reflectance& floor, const Viewing& viewing,
                                             double coat_mm = 0.1,
                                             double de00 = threshold::perceptible_de00);

}  // namespace mamelon
