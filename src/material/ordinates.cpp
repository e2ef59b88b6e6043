#include "material/ordinates.h"

#include <cmath>

namespace mamelon::detail {
namespace {

// Share of unpolarised light that crosses the surface from inside at cosine `mu`.
double fresnel_transmittance(double mu, double n) {
  const double sine2 = n * n * (1 - mu * mu);
  if (sine2 >= 1) {
    return 0;
  }
  const double outside = std::sqrt(1 - sine2);
  const double rs = (n * mu - outside) / (n * mu + outside);
  const double rp = (mu - n * outside) / (mu + n * outside);
  return 1 - (rs * rs + rp * rp) / 2;
}

}  // namespace

template <int Size>
Ordinates<Size>::Ordinates(int streams, double refractive_index)
    : streams_(streams),
      mu_(streams),
      weight_(streams),
      flux_(streams),
      inner_(streams),
      even_light_(streams),
      normal_beam_(streams),
      refractive_index_(refractive_index),
      legendre_(streams, streams) {
  const Directions points = directions(static_cast<std::size_t>(streams), refractive_index);
  const double n = refractive_index;
  k1_ = (n - 1) * (n - 1) / ((n + 1) * (n + 1));
  const double k2 = n > 1 ? interface_of(n, false).k2 : 0;
  outer_diffuse_ = 1 - (1 - k2) * n * n;
  Vector through(streams);
  double total = 0;
  for (int i = 0; i < streams_; ++i) {
    const auto at = static_cast<std::size_t>(i);
    mu_[i] = points.mu[at];
    weight_[i] = points.weight[at];
    flux_[i] = std::sqrt(2 * weight_[i] * mu_[i]);
    through[i] = fresnel_transmittance(mu_[i], n);
    total += flux_[i] * flux_[i] * through[i];
    double previous = 0;
    double p = 1;
    for (int l = 0; l < streams_; ++l) {
      legendre_(l, i) = p;
      const double next = ((2 * l + 1) * mu_[i] * p - l * previous) / (l + 1);
      previous = p;
      p = next;
    }
  }
  // The quadrature of Fresnel's transmittance is put right, so that the surface passes exactly
  // 1 − k2 of even light. The stream along the normal, which beams and eyes use, is exact as it is.
  const double along = flux_[streams - 1] * flux_[streams - 1] * through[streams - 1];
  if (total > along) {
    through.head(streams - 1) *= (1 - k2 - along) / (total - along);
  }
  inner_ = Vector::Ones(streams_) - through;
  even_light_ = n * n * flux_.cwiseProduct(through);
  normal_beam_.setZero();
  normal_beam_[streams - 1] = (1 - k1_) / flux_[streams - 1];
}

template <int Size>
OrdinateLayer<Size> Ordinates<Size>::layer(const Medium& medium, double thickness_mm) const {
  // δ–M: the part g^N of the phase function that N moments cannot hold goes straight on.
  const double peak = std::pow(medium.anisotropy, streams_);
  const double scattering = medium.scattering_per_mm * (1 - peak);
  const double extinction = medium.absorption_per_mm + scattering;
  Matrix even = Matrix::Zero(streams_, streams_);  // of the phase function in l even and odd
  Matrix odd = Matrix::Zero(streams_, streams_);
  double moment = 1;
  for (int l = 0; l < streams_; ++l) {
    const double share = (moment - peak) / (1 - peak) * (2 * l + 1);
    const auto row = legendre_.row(l).transpose();
    (l % 2 == 0 ? even : odd) += share * row * row.transpose();
    moment *= medium.anisotropy;
  }
  // With sum and difference of the two directions scaled by √(w µ):
  // d(sum)/dz = −E diff, d(diff)/dz = −F sum, E and F symmetric.
  const Vector root = (weight_.array() / mu_.array()).sqrt();
  const Vector inverse = mu_.cwiseInverse();
  Matrix e = -scattering * (root.asDiagonal() * odd * root.asDiagonal());
  Matrix f = -scattering * (root.asDiagonal() * even * root.asDiagonal());
  e.diagonal() += extinction * inverse;
  f.diagonal() += extinction * inverse;
  const Eigen::LLT<Matrix> cholesky(e);
  const Matrix l = cholesky.matrixL();
  const Matrix product = l.transpose() * f * l;
  const Eigen::SelfAdjointEigenSolver<Matrix> modes((product + product.transpose()) / 2);
  const Matrix b = l * modes.eigenvectors();
  const Matrix c =
      l.transpose().template triangularView<Eigen::Upper>().solve(modes.eigenvectors());
  Vector rising(streams_);   // λ tanh(λ d/2)
  Vector falling(streams_);  // tanh(λ d/2) / λ
  const double half = thickness_mm / 2;
  for (int i = 0; i < streams_; ++i) {
    const double lambda2 = std::max(0.0, modes.eigenvalues()[i]);
    const double lambda = std::sqrt(lambda2);
    const double x = lambda * half;
    falling[i] = x < 1e-3 ? half * (1 - x * x / 3) : std::tanh(x) / lambda;
    rising[i] = lambda2 * falling[i];
  }
  // Light that falls alike on both sides sees R + T, light of opposite sign R − T.
  const Matrix identity = Matrix::Identity(streams_, streams_);
  const Matrix alike = c * rising.asDiagonal() * c.transpose();
  const Matrix opposite = b * falling.asDiagonal() * b.transpose();
  const Matrix sum = 2 * (identity + alike).inverse() - identity;
  const Matrix difference = identity - 2 * (identity + opposite).inverse();
  return {(sum + difference) / 2, (sum - difference) / 2};
}

template <int Size>
typename Ordinates<Size>::Matrix Ordinates<Size>::covered(const OrdinateLayer<Size>& layer,
                                                          const Matrix& below) {
  const Matrix identity = Matrix::Identity(below.rows(), below.cols());
  const Matrix between = identity - layer.reflection * below;
  return layer.reflection +
         layer.transmission * below * between.partialPivLu().solve(layer.transmission);
}

template <int Size>
double Ordinates<Size>::escaping_flux(const Vector& z) const {
  return flux_.cwiseProduct(Vector::Ones(streams_) - inner_).dot(z);
}

template <int Size>
double Ordinates<Size>::normal_factor(const Vector& z) const {
  return (1 - k1_) / (refractive_index_ * refractive_index_) * z[streams_ - 1] /
         flux_[streams_ - 1];
}

template class Ordinates<4>;
template class Ordinates<Eigen::Dynamic>;

}  // namespace mamelon::detail
