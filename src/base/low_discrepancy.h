#pragma once
// Fixed, evenly spread samples: the same numbers everywhere and always.

#include <cmath>
#include <cstddef>
#include <vector>

namespace mamelon::detail {

// The digits of `index` in this base, mirrored at the point (van der Corput); in primes, one a
// coordinate, they make Halton's sequence (Halton 1960).
inline double radical_inverse(std::size_t index, std::size_t base) {
  double value = 0;
  double digit = 1;
  for (std::size_t rest = index; rest > 0; rest /= base) {
    digit /= static_cast<double>(base);
    value += digit * static_cast<double>(rest % base);
  }
  return value;
}

// Additive recurrence on the powers of the generalised golden ratio, the positive root of
// x^(d+1) = x + 1 (Roberts 2018, after Korobov). Points fill the unit cube more evenly than random
// ones.
class QuasiRandom {
 public:
  explicit QuasiRandom(std::size_t dimensions) : step_(dimensions), at_(dimensions, 0.5) {
    double ratio = 2;
    for (int i = 0; i < 64; ++i) {
      ratio = std::pow(1 + ratio, 1.0 / (static_cast<double>(dimensions) + 1));
    }
    double power = 1;
    for (double& step : step_) step = (power /= ratio);
  }

  // Coordinate `i` of the current point in [0, 1).
  [[nodiscard]] double operator[](std::size_t i) const { return at_[i]; }
  // The same in [low, high).
  [[nodiscard]] double in(std::size_t i, double low, double high) const {
    return low + (high - low) * at_[i];
  }
  // The same with mean 0 and standard deviation `sd`, evenly spread.
  [[nodiscard]] double spread(std::size_t i, double sd) const {
    return sd * std::sqrt(12.0) * (at_[i] - 0.5);
  }
  void next() {
    for (std::size_t i = 0; i < at_.size(); ++i) at_[i] = std::fmod(at_[i] + step_[i], 1.0);
  }

 private:
  std::vector<double> step_;
  std::vector<double> at_;
};

}  // namespace mamelon::detail
