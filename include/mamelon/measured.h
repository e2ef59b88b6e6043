#pragma once
/// @file
/// A value with the two parts of its uncertainty that behave differently under averaging.

#include <array>
#include <limits>
#include <string>
#include <vector>

#include "mamelon/description.h"

namespace mamelon {

/// Three numbers, and a matrix of 3×3, row by row.
using Vec3 = std::array<double, 3>;
using Mat3 = std::array<std::array<double, 3>, 3>;

/// 3×3 matrix of zeros with `diagonal` on its diagonal.
[[nodiscard]] Mat3 diagonal(const Vec3& diagonal);
[[nodiscard]] Mat3 add(const Mat3& a, const Mat3& b);
[[nodiscard]] Mat3 scale(const Mat3& a, double factor);
[[nodiscard]] Mat3 multiply(const Mat3& a, const Mat3& b);
[[nodiscard]] Vec3 multiply(const Mat3& a, const Vec3& v);
/// J C Jᵀ: the covariance of a smooth function with Jacobian `jacobian` (GUM, JCGM 100:2008, 5.2).
[[nodiscard]] Mat3 propagate(const Mat3& jacobian, const Mat3& covariance);
/// True when `covariance` is finite, symmetric to 1e-9 relative, and positive semi-definite.
[[nodiscard]] bool is_covariance(const Mat3& covariance);

/// A measured quantity with three components.
///
/// `random` is the covariance of the error that is new in every reading and shrinks when readings
/// are averaged; `shared` is the covariance of the error common to all readings of one set-up
/// (calibration, card, model) and does not shrink. `dof` is the number of degrees of freedom
/// behind `random`; infinity where it is known rather than estimated.
template <class T>
struct Measured {
  T value{};                                             ///< the best estimate
  Mat3 random{};                                         ///< covariance that averaging shrinks
  Mat3 shared{};                                         ///< covariance that averaging leaves
  double dof = std::numeric_limits<double>::infinity();  ///< degrees of freedom behind `random`

  /// random + shared: the covariance of one value taken alone.
  [[nodiscard]] Mat3 covariance() const { return add(random, shared); }
  /// Standard deviations of the three components of `covariance()`.
  [[nodiscard]] Vec3 sd() const;

  friend bool operator==(const Measured&, const Measured&) = default;
};

/// Square roots of the diagonal of a covariance matrix.
[[nodiscard]] Vec3 standard_deviations(const Mat3& covariance);

template <class T>
Vec3 Measured<T>::sd() const {
  return standard_deviations(covariance());
}

/// What is common to the descriptions of all `Measured<T>`; `key` is that of the value.
template <class T>
constexpr auto measured_fields(const char* key) {
  using M = Measured<T>;
  return FieldList{
      needed("value", &M::value, "what was measured").key(key),
      field("random", &M::random, "3×3 covariance of the part that shrinks under averaging")
          .quiet(),
      field("shared", &M::shared, "3×3 covariance of the part common to all readings").quiet(),
      field("dof", &M::dof, "degrees of freedom behind `random`; infinite where it is known")
          .range(0, no_limit)
          .quiet()};
}
/// Throws ArgumentError unless both are covariances.
void check_covariances(const Mat3& random, const Mat3& shared, const std::string& where);

}  // namespace mamelon
