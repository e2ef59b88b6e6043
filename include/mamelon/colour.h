#pragma once
/// @file
/// Tristimulus values, CIELAB and display colour.

#include <string>

#include "mamelon/description.h"
#include "mamelon/measured.h"

namespace mamelon {

/// CIE tristimulus values; Y = 1 for the perfect reflecting diffuser.
struct Xyz {
  double x = 0;
  double y = 0;
  double z = 0;
  friend bool operator==(const Xyz&, const Xyz&) = default;
};
template <>
struct Fields<Xyz> {
  static constexpr const char* name = "Xyz";
  static constexpr bool plain = true;
  static constexpr auto all() {
    return FieldList{needed("x", &Xyz::x, "X"),
                     needed("y", &Xyz::y, "Y, 1 for the perfect reflecting diffuser"),
                     needed("z", &Xyz::z, "Z")};
  }
};

/// CIELAB coordinates (ISO/CIE 11664-4).
struct Lab {
  double l = 0;
  double a = 0;
  double b = 0;
  friend bool operator==(const Lab&, const Lab&) = default;
};
template <>
struct Fields<Lab> {
  static constexpr const char* name = "Lab";
  static constexpr bool plain = true;
  static constexpr auto all() {
    return FieldList{needed("l", &Lab::l, "lightness L*").range(0, 100),
                     needed("a", &Lab::a, "a*, red positive").range(-150, 150),
                     needed("b", &Lab::b, "b*, yellow positive").range(-150, 150)};
  }
};

/// CIELAB in cylindrical form; `h_deg` in [0, 360), 0 for an achromatic colour.
struct Lch {
  double l = 0;
  double c = 0;
  double h_deg = 0;
  friend bool operator==(const Lch&, const Lch&) = default;
};
template <>
struct Fields<Lch> {
  static constexpr const char* name = "Lch";
  static constexpr bool plain = true;
  static constexpr auto all() {
    return FieldList{needed("l", &Lch::l, "lightness L*, 0–100"),
                     needed("c", &Lch::c, "chroma C*ab"),
                     needed("h_deg", &Lch::h_deg, "hue angle in degrees, 0–360")};
  }
};

template <>
struct Fields<Measured<Lab>> {
  static constexpr const char* name = "Measured";
  static constexpr auto all() { return measured_fields<Lab>("lab"); }
  static void relate(const Measured<Lab>& value, const std::string& where) {
    check_covariances(value.random, value.shared, where);
  }
};
template <>
struct Fields<Measured<Xyz>> {
  static constexpr const char* name = "MeasuredXyz";
  static constexpr auto all() { return measured_fields<Xyz>("xyz"); }
};
template <>
struct Fields<Measured<Lch>> {
  static constexpr const char* name = "MeasuredLch";
  static constexpr auto all() { return measured_fields<Lch>("lch"); }
};

/// ISO/CIE 11664-4 with the rational constants 216/24389 and 24389/27.
[[nodiscard]] Lab to_lab(const Xyz& xyz, const Xyz& white);
[[nodiscard]] Xyz to_xyz(const Lab& lab, const Xyz& white);
[[nodiscard]] Lch to_lch(const Lab& lab);
[[nodiscard]] Lab to_lab(const Lch& lch);

/// dLab/dXYZ at `xyz`, rows L a b.
[[nodiscard]] Mat3 lab_jacobian(const Xyz& xyz, const Xyz& white);
/// dXYZ/dLab at `lab`, rows X Y Z.
[[nodiscard]] Mat3 xyz_jacobian(const Lab& lab, const Xyz& white);
/// dLCh/dLab at `lab`, rows L C h (h in degrees). Throws ArgumentError at zero chroma, where hue is
/// undefined.
[[nodiscard]] Mat3 lch_jacobian(const Lab& lab);

/// The conversions to_lab, to_xyz and to_lch with both covariances carried by their Jacobians (JCGM
/// 100:2008, 5.2).
[[nodiscard]] Measured<Lab> measured_lab(const Measured<Xyz>& xyz, const Xyz& white);
[[nodiscard]] Measured<Xyz> measured_xyz(const Measured<Lab>& lab, const Xyz& white);
[[nodiscard]] Measured<Lch> measured_lch(const Measured<Lab>& lab);

/// Which matrix takes colours to the responses that are scaled.
enum class Adaptation { cat16, bradford };
template <>
struct Words<Adaptation> {
  static constexpr const char* name = "Adaptation";
  static constexpr auto words = words_of("cat16", "bradford");
};
/// Full von Kries adaptation of `xyz` from one white to another.
[[nodiscard]] Xyz adapt(const Xyz& xyz, const Xyz& from_white, const Xyz& to_white,
                        Adaptation method);
/// The matrix that `adapt` multiplies by, which is also its Jacobian.
[[nodiscard]] Mat3 adaptation_matrix(const Xyz& from_white, const Xyz& to_white, Adaptation method);
/// `adapt` with both covariances carried.
[[nodiscard]] Measured<Xyz> measured_adapted(const Measured<Xyz>& xyz, const Xyz& from_white,
                                             const Xyz& to_white, Adaptation method);

/// How light or dark the surround of a colour is for CAM16.
enum class Surround { average, dim, dark };
template <>
struct Words<Surround> {
  static constexpr const char* name = "Surround";
  static constexpr auto words = words_of("average", "dim", "dark");
};
/// What CAM16 must know of the place: nothing here has a default.
struct Cam16Conditions {
  Xyz white;
  double adapting_luminance_cd_m2 = 0;
  double background_y = 0;
  Surround surround = Surround::average;
};
template <>
struct Fields<Cam16Conditions> {
  static constexpr const char* name = "Cam16Conditions";
  static constexpr auto all() {
    using T = Cam16Conditions;
    return FieldList{
        needed("white", &T::white, "tristimulus values of the white, Y = 1"),
        needed("adapting_luminance_cd_m2", &T::adapting_luminance_cd_m2,
               "of the adapting field, above 0"),
        needed("background_y", &T::background_y, "Y of the background, in (0, 1]; often 0.2"),
        needed("surround", &T::surround, "how light or dark it is around")};
  }
};
/// Uniform coordinates J', a', b' of CAM16.
struct Cam16Ucs {
  double j = 0;  ///< J' of lightness
  double a = 0;  ///< a' towards red
  double b = 0;  ///< b' towards yellow
  friend bool operator==(const Cam16Ucs&, const Cam16Ucs&) = default;
};
/// CAM16-UCS of a colour with full or partial adaptation as CAM16 computes it from the luminance
/// (Li et al. 2017, Color Res Appl 42:703–718; uniform form with c1 = 0.007, c2 = 0.0228 of Luo,
/// Cui, Li 2006, Color Res Appl 31:320–330). Throws ArgumentError for conditions out of range.
[[nodiscard]] Cam16Ucs to_cam16_ucs(const Xyz& xyz, const Cam16Conditions& conditions);

/// Linear light sRGB (IEC 61966-2-1, unclipped) of `xyz` seen under `white`, adapted to the
/// display's D65 by Bradford; the perfect diffuser gives 1, 1, 1.
[[nodiscard]] Vec3 to_linear_srgb(const Xyz& xyz, const Xyz& white);
/// The inverse of to_linear_srgb.
[[nodiscard]] Xyz from_linear_srgb(const Vec3& rgb, const Xyz& white);

/// A colour for a display: IEC 61966-2-1 sRGB, components 0–1 after clipping.
struct DisplayColour {
  double r = 0;          ///< red, 0–1
  double g = 0;          ///< green, 0–1
  double b = 0;          ///< blue, 0–1
  bool clipped = false;  ///< true when the colour lies outside the sRGB gamut
};
/// Linear light sRGB encoded by IEC 61966-2-1.
[[nodiscard]] DisplayColour to_display(const Vec3& linear_srgb);
/// CIELAB under `white` to sRGB, adapted to D65 by Bradford.
[[nodiscard]] DisplayColour to_display(const Lab& lab, const Xyz& white);
/// `#rrggbb`.
[[nodiscard]] std::string to_hex(const DisplayColour& colour);

}  // namespace mamelon
