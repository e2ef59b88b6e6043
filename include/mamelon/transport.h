#pragma once
/// @file
/// Radiative transfer in discrete ordinates: the accurate engine behind `predict`.

#include <cstddef>
#include <memory>
#include <span>

#include "mamelon/description.h"
#include "mamelon/stack.h"

namespace mamelon {

/// A turbid medium at one wavelength.
struct Medium {
  double absorption_per_mm = 0;
  double scattering_per_mm = 0;
  double anisotropy = 0;
};
template <>
struct Fields<Medium> {
  static constexpr const char* name = "Medium";
  static constexpr auto all() {
    return FieldList{
        needed("absorption_per_mm", &Medium::absorption_per_mm, "μa, 0 or more"),
        needed("scattering_per_mm", &Medium::scattering_per_mm, "μs, 0 or more, unreduced"),
        field("anisotropy", &Medium::anisotropy, "g of Henyey and Greenstein, 0 ≤ g < 1")};
  }
};

/// Reflectance and transmittance of a slab in air, surface reflections included.
struct SlabTotals {
  double r_normal = 0;
  double t_normal = 0;
  double r_diffuse = 0;
  double t_diffuse = 0;
};
template <>
struct Fields<SlabTotals> {
  static constexpr const char* name = "SlabTotals";
  static constexpr auto all() {
    return FieldList{
        needed("r_normal", &SlabTotals::r_normal, "reflected of a beam at normal incidence"),
        needed("t_normal", &SlabTotals::t_normal, "transmitted of it"),
        needed("r_diffuse", &SlabTotals::r_diffuse, "reflected of diffuse light"),
        needed("t_diffuse", &SlabTotals::t_diffuse, "transmitted of it")};
  }
};

/// The whole of what a slab does to light. Discrete ordinates with `streams` per hemisphere (4, 6,
/// 8, 16 or 32), half of them below the critical angle, the others at Lobatto points of the cosine
/// outside; the phase function is that of Henyey and Greenstein with the forward peak taken out
/// (δ–M, Wiscombe 1977, J Atmos Sci 34:1408). Throws ArgumentError for constants, an index (1, or
/// 1.01–2), a thickness or a number of streams out of range.
[[nodiscard]] SlabTotals slab_totals(const Medium& medium, double thickness_mm,
                                     double refractive_index, int streams = 4);

/// Which model of layers computes.
enum class Engine {
  kubelka_munk,  ///< two fluxes; microseconds a stack
  transport,     ///< discrete ordinates; needs `Paste::transport`
};
template <>
struct Words<Engine> {
  static constexpr const char* name = "Engine";
  static constexpr auto words = words_of("kubelka_munk", "transport");
};

/// The engine that a stack is predicted by where none is asked for: transport where every layer's
/// paste has constants for it, else two fluxes.
[[nodiscard]] Engine best_engine(const Stack& stack);

/// The reflectance seen outside under diffuse light near the normal (d:8). With
/// `Engine::kubelka_munk` as `predict(stack)`. Throws ArgumentError as that does, and for a paste
/// without transport constants or a number of streams other than 4, 6, 8, 16 or 32. The same bits
/// on every processor.
[[nodiscard]] Reflectance predict(const Stack& stack, Engine engine, int streams = 4);

/// Layer of a paste of a `PreparedPastes`.
struct PreparedLayer {
  std::size_t paste = 0;
  double thickness_mm = 0;
};
template <>
struct Fields<PreparedLayer> {
  static constexpr const char* name = "PreparedLayer";
  static constexpr auto all() {
    return FieldList{
        needed("paste", &PreparedLayer::paste, "index into the pastes that were prepared"),
        needed("thickness_mm", &PreparedLayer::thickness_mm, "above 0, in mm")};
  }
};

/// Pastes made ready for the prediction of many stacks by transport: what does not depend on the
/// thickness of a layer is computed once, when it is first asked for. May be used from many
/// threads.
class PreparedPastes {
 public:
  /// Throws ArgumentError for an empty or invalid set, a paste without transport constants or a
  /// number of streams other than 4, 6, 8, 16 or 32.
  explicit PreparedPastes(std::span<const Paste> pastes, int streams = 4);
  ~PreparedPastes();
  /// Moves.
  PreparedPastes(PreparedPastes&&) noexcept;
  /// Moves.
  PreparedPastes& operator=(PreparedPastes&&) noexcept;

  /// The bits of `predict(stack, Engine::transport, streams)` for the same stack. `layers` stand
  /// from the floor outward. Throws as that does, and ArgumentError for a paste that is not there.
  [[nodiscard]] Reflectance predict(const Reflectance& floor, std::span<const PreparedLayer> layers,
                                    bool specular_included = false) const;

 private:
  struct Content;
  std::unique_ptr<const Content> content_;
};

}  // namespace mamelon
