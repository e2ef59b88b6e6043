#pragma once
// Fields of the value types of the base, colour and reading layers.

#include "mamelon/appearance.h"
#include "mamelon/difference.h"
#include "mamelon/provenance.h"
#include "mamelon/reading.h"

#include "values.h"

namespace mamelon::python {

template <>
struct Names<Observer> {
  static constexpr const char* alias = "Observer";
  static constexpr std::array names{std::pair{Observer::deg2, "deg2"},
                                    std::pair{Observer::deg10, "deg10"}};
};
template <>
struct Names<Adaptation> {
  static constexpr const char* alias = "Adaptation";
  static constexpr std::array names{std::pair{Adaptation::cat16, "cat16"},
                                    std::pair{Adaptation::bradford, "bradford"}};
};
template <>
struct Names<Integration> {
  static constexpr const char* alias = "Integration";
  static constexpr std::array names{std::pair{Integration::weighting, "weighting"},
                                    std::pair{Integration::sprague, "sprague"}};
};
template <>
struct Names<Interpolation> {
  static constexpr const char* alias = "Interpolation";
  static constexpr std::array names{std::pair{Interpolation::linear, "linear"},
                                    std::pair{Interpolation::cubic, "cubic"},
                                    std::pair{Interpolation::sprague, "sprague"}};
};
template <>
struct Names<Extrapolation> {
  static constexpr const char* alias = "Extrapolation";
  static constexpr std::array names{std::pair{Extrapolation::error, "error"},
                                    std::pair{Extrapolation::hold, "hold"},
                                    std::pair{Extrapolation::zero, "zero"}};
};
template <>
struct Names<Grade> {
  static constexpr const char* alias = "Grade";
  static constexpr std::array names{std::pair{Grade::excellent, "excellent"},
                                    std::pair{Grade::acceptable, "acceptable"},
                                    std::pair{Grade::moderate_mismatch, "moderate_mismatch"},
                                    std::pair{Grade::clear_mismatch, "clear_mismatch"},
                                    std::pair{Grade::extreme_mismatch, "extreme_mismatch"}};
};

template <>
struct Fields<Provenance> {
  static constexpr const char* name = "Provenance";
  static constexpr auto all() {
    return std::tuple{
        field("step", &Provenance::step, "the step that made the value"),
        field("settings", &Provenance::settings, "canonical text of every argument that matters"),
        field("inputs", &Provenance::inputs, "digests of what went in"),
        field("digest", &Provenance::digest, "SHA-256 of the above and of the library's version")};
  }
};

template <>
struct Fields<Lab> {
  static constexpr const char* name = "Lab";
  static constexpr bool plain = true;
  static constexpr auto all() {
    return std::tuple{needed("l", &Lab::l, "lightness L*, 0–100"),
                      needed("a", &Lab::a, "a*, red positive"),
                      needed("b", &Lab::b, "b*, yellow positive")};
  }
  static std::string repr(const Lab& v) {
    return "Lab(" + short_number(v.l) + ", " + short_number(v.a) + ", " + short_number(v.b) + ")";
  }
};
template <>
struct Fields<Xyz> {
  static constexpr const char* name = "Xyz";
  static constexpr bool plain = true;
  static constexpr auto all() {
    return std::tuple{needed("x", &Xyz::x, "X"),
                      needed("y", &Xyz::y, "Y, 1 for the perfect reflecting diffuser"),
                      needed("z", &Xyz::z, "Z")};
  }
};
template <>
struct Fields<Lch> {
  static constexpr const char* name = "Lch";
  static constexpr bool plain = true;
  static constexpr auto all() {
    return std::tuple{needed("l", &Lch::l, "lightness L*, 0–100"),
                      needed("c", &Lch::c, "chroma C*ab"),
                      needed("h_deg", &Lch::h_deg, "hue angle in degrees, 0–360")};
  }
};
template <>
struct Fields<DifferenceWeights> {
  static constexpr const char* name = "DifferenceWeights";
  static constexpr auto all() {
    return std::tuple{field("kl", &DifferenceWeights::kl, "parametric factor of lightness"),
                      field("kc", &DifferenceWeights::kc, "parametric factor of chroma"),
                      field("kh", &DifferenceWeights::kh, "parametric factor of hue")};
  }
  static std::string repr(const DifferenceWeights& v) { return short_repr(v); }
};
template <>
struct Fields<Grid> {
  static constexpr const char* name = "Grid";
  static constexpr auto all() {
    return std::tuple{needed("first_nm", &Grid::first_nm, "first wavelength in nm"),
                      needed("step_nm", &Grid::step_nm, "step in nm, above 0 and at most 20"),
                      needed("count", &Grid::count, "number of bands, at least 3")};
  }
  static void check(const Grid& grid) { check_grid(grid); }
  static std::string repr(const Grid& v) { return short_repr(v); }
};
template <>
struct Fields<Viewing> {
  static constexpr const char* name = "Viewing";
  static constexpr const char* other_type = "str";
  static Viewing blank() { return {standard_illuminant("E"), Observer::deg2}; }
  static std::optional<Viewing> from_other(py::handle object) {
    if (!PyUnicode_Check(object.ptr())) return std::nullopt;
    return viewing_from_string(py::cast<std::string>(object));
  }
  static constexpr auto all() {
    return std::tuple{
        needed("illuminant", &Viewing::illuminant, "the light"),
        needed("observer", &Viewing::observer, "deg2 (CIE 1931) or deg10 (CIE 1964)")};
  }
  static std::string repr(const Viewing& v) { return in_quotes(to_string(v)); }
};

template <>
struct Fields<Measured<Lab>> {
  static constexpr const char* name = "Measured";
  static constexpr auto all() {
    using T = Measured<Lab>;
    return std::tuple{
        needed("value", &T::value, "the colour"),
        field("random", &T::random, "3×3 covariance of the part that shrinks under averaging"),
        field("shared", &T::shared, "3×3 covariance of the part common to all readings"),
        field("dof", &T::dof, "degrees of freedom behind `random`; infinity where it is known")};
  }
  static void check(const Measured<Lab>& v) {
    if (!is_covariance(v.random) || !is_covariance(v.shared))
      throw ArgumentError(
          "Measured.random and Measured.shared must be symmetric and positive semi-definite");
    if (std::isnan(v.dof) || v.dof < 0)
      throw ArgumentError("Measured.dof must be 0 or more, not " + short_number(v.dof));
  }
  static std::string repr(const Measured<Lab>& v) {
    const Vec3 sd = v.sd();
    const auto part = [](double value, double s) {
      return short_number(value) + "±" + short_number(s);
    };
    return "[" + part(v.value.l, sd[0]) + ", " + part(v.value.a, sd[1]) + ", " +
           part(v.value.b, sd[2]) + "]";
  }
};

template <>
struct Names<SurfaceKind> {
  static constexpr const char* alias = "SurfaceKind";
  static constexpr std::array names{std::pair{SurfaceKind::tooth, "tooth"},
                                    std::pair{SurfaceKind::prepared_floor, "prepared_floor"},
                                    std::pair{SurfaceKind::restoration, "restoration"},
                                    std::pair{SurfaceKind::tab, "tab"},
                                    std::pair{SurfaceKind::gingiva, "gingiva"},
                                    std::pair{SurfaceKind::unknown, "unknown"}};
};

template <>
struct Fields<Reading> {
  static constexpr const char* name = "Reading";
  static Reading blank() {
    return {.label = {},
            .zone = {},
            .lab = {},
            .curve = {},
            .viewing = Fields<Viewing>::blank(),
            .count = 1,
            .warnings = {},
            .provenance = {}};
  }
  static constexpr auto all() {
    return std::tuple{
        needed("label", &Reading::label, "of the thing measured"),
        needed("lab", &Reading::lab, "the colour with its uncertainty"),
        needed("viewing", &Reading::viewing, "illuminant and observer of the colour"),
        field("zone", &Reading::zone, "cervical, middle, incisal, …; empty for a whole specimen"),
        field("curve", &Reading::curve, "the reflectance where one was measured"),
        field("count", &Reading::count, "repeat readings or pixels behind the value"),
        field("warnings", &Reading::warnings, "what to know before using it"),
        field("provenance", &Reading::provenance, "how it was made"),
        field("kind", &Reading::kind, "what a photo's reading took the surface to be")};
  }
};

}  // namespace mamelon::python
