#pragma once
/// @file
/// Tristimulus values, CIELAB and display colour.

#include <string>

#include "mamelon/measured.h"

namespace mamelon {

/// CIE tristimulus values; Y = 1 for the perfect reflecting diffuser.
struct Xyz {
  double x = 0;
  double y = 0;
  double z = 0;
  friend bool operator==(const Xyz&, const Xyz&) = default;
};

/// CIELAB coordinates (ISO/CIE 11664-4).
struct Lab {
  double l = 0;
  double a = 0;
  double b = 0;
  friend bool operator==(const Lab&, const Lab&) = default;
};

/// CIELAB in cylindrical form; `h_deg` in [0, 360), 0 for an achromatic colour.
struct Lch {
  double l = 0;
  double c = 0;
  double h_deg = 0;
  friend bool operator==(const Lch&, const Lch&) = default;
};

/// ISO/CIE 11664-4 with the rational constants 216/24389 and 24389/27.
[[nodiscard]] Lab to_lab(const Xyz& xyz, const Xyz& white);
[[nodiscard]] Xyz to_xyz(const Lab& lab, const Xyz& white);
[[nodiscard]] Lch to_lch(const Lab& lab);
[[nodiscard]] Lab to_lab(const Lch& lch);

/// dLab/dXYZ at `xyz`, rows L a b.
[[nodiscard]] Mat3 lab_jacobian(const Xyz& xyz, const Xyz& white);

enum class Adaptation { cat16, bradford };
/// Full von Kries adaptation of `xyz` from one white to another.
[[nodiscard]] Xyz adapt(const Xyz& xyz, const Xyz& from_white, const Xyz& to_white,
                        Adaptation method);

/// Linear light sRGB (IEC 61966-2-1, unclipped) of `xyz` seen under `white`, adapted to the
/// display's D65 by Bradford; the perfect diffuser gives 1, 1, 1.
[[nodiscard]] Vec3 to_linear_srgb(const Xyz& xyz, const Xyz& white);
/// The inverse of to_linear_srgb.
[[nodiscard]] Xyz from_linear_srgb(const Vec3& rgb, const Xyz& white);

/// A colour for a display: IEC 61966-2-1 sRGB, components 0–1 after clipping.
struct DisplayColour {
  double r = 0;
  double g = 0;
  double b = 0;
  bool clipped = false;  ///< true when the colour lies outside the sRGB gamut
};
/// CIELAB under `white` to sRGB, adapted to D65 by Bradford.
[[nodiscard]] DisplayColour to_display(const Lab& lab, const Xyz& white);
/// `#rrggbb`.
[[nodiscard]] std::string to_hex(const DisplayColour& colour);

}  // namespace mamelon
