#pragma once
// Layers in discrete ordinates.

#include <vector>

#include <Eigen/Dense>

#include "mamelon/transport.h"

#include "material/quadrature.h"

namespace mamelon::detail {

// What crosses a plane is held as z = √(2 w µ) I a stream, in which reflection and transmission of
// any layer are symmetric matrices (reciprocity) and flux is Σ √(2 w µ) z.
// `Size` is the number of streams, or Eigen::Dynamic.
template <int Size>
struct OrdinateLayer {
  Eigen::Matrix<double, Size, Size> reflection;
  Eigen::Matrix<double, Size, Size> transmission;
};

// Directions with what depends on them alone: Legendre polynomials and the surface.
template <int Size>
class Ordinates {
 public:
  using Matrix = Eigen::Matrix<double, Size, Size>;
  using Vector = Eigen::Matrix<double, Size, 1>;

  Ordinates(int streams, double refractive_index);

  [[nodiscard]] OrdinateLayer<Size> layer(const Medium& medium, double thickness_mm) const;
  // A floor that scatters evenly.
  [[nodiscard]] Matrix lambertian(double reflectance) const {
    return reflectance * flux_ * flux_.transpose();
  }
  // Reflection of a layer on what reflects as `below`.
  [[nodiscard]] static Matrix covered(const OrdinateLayer<Size>& layer, const Matrix& below);

  // z to flux: √(2 w µ).
  [[nodiscard]] const Vector& flux() const { return flux_; }
  // Share of a stream that the surface sends back.
  [[nodiscard]] const Vector& inner_reflectance() const { return inner_; }
  // z inside of even light of flux 1 outside, and of a beam of flux 1 along the normal.
  [[nodiscard]] const Vector& even_light() const { return even_light_; }
  [[nodiscard]] const Vector& normal_beam() const { return normal_beam_; }
  [[nodiscard]] double k1() const { return k1_; }
  // Diffuse light that the surface reflects from outside.
  [[nodiscard]] double outer_diffuse() const { return outer_diffuse_; }
  // What leaves through the surface: all of it, and the radiance along the normal as a share of
  // that of a perfect diffuser in the same even light.
  [[nodiscard]] double escaping_flux(const Vector& z) const;
  [[nodiscard]] double normal_factor(const Vector& z) const;

 private:
  int streams_;
  Vector mu_;
  Vector weight_;
  Vector flux_;
  Vector inner_;
  Vector even_light_;
  Vector normal_beam_;
  double refractive_index_;
  double k1_ = 0;
  double outer_diffuse_ = 0;
  Matrix legendre_;  // P_l(µ_i), row l
};

extern template class Ordinates<4>;
extern template class Ordinates<Eigen::Dynamic>;

}  // namespace mamelon::detail
