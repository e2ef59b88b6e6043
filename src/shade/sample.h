#pragma once
// The fixed low-discrepancy sample behind every chance and interval.

#include <cstddef>
#include <cstdint>
#include <vector>

#include "mamelon/measured.h"

namespace mamelon::detail {

// Three coordinates of many draws, each in an array of its own so that loops over draws vectorise.
struct Draws {
  std::vector<double> x, y, z;

  explicit Draws(std::size_t count = 0) : x(count), y(count), z(count) {}
  [[nodiscard]] std::size_t size() const { return x.size(); }
};

// Standard normal draws in blocks of three coordinates, any number of blocks.
//
// Within a block the draws are the first points of a three-dimensional Sobol sequence (direction
// numbers of Joe and Kuo 2008) with nested uniform scrambling by hash (Owen 1995; Burley 2020,
// JCGT 9(4)), mapped by the inverse of the normal distribution. Blocks are joined by random
// permutations of the same points: Latin supercube sampling (Owen 1998, ACM TOMACS 8:71), which
// keeps the evenness within each block and independence between them in any number of dimensions.
class NormalSample {
 public:
  NormalSample(std::size_t draws, std::uint64_t seed);

  [[nodiscard]] std::size_t size() const { return points_.size(); }
  // Independent standard normal coordinates.
  [[nodiscard]] Draws standard(std::uint64_t block) const;
  // Factors √(dof/χ²) with χ² on `chi_dof`, from the largest to the smallest: for equal figures
  // those that turn normal draws into draws of Student's multivariate t. They cost far more to make
  // than to shuffle.
  [[nodiscard]] std::vector<double> stretches(double dof, double chi_dof) const;
  // The same in the random order of a block.
  [[nodiscard]] std::vector<double> shuffled(const std::vector<double>& stretches,
                                             std::uint64_t block) const;
  // Draws of an error with this covariance: normal where the covariance is stated, Student's t
  // where it was estimated (`is_estimated(dof)`).
  [[nodiscard]] Draws draw(const Mat3& covariance, double dof, std::uint64_t block) const;

 private:
  Draws points_;
  std::uint64_t seed_;
};

// True where `dof` stands for a covariance estimated from so few readings that Student's t and the
// normal differ. A dof below 1 means a covariance that was stated, not estimated.
bool is_estimated(double dof);

// Adds L (x, y, z) to `sum` for every draw of `standard`, each multiplied by its factor of
// `stretch` unless that is empty.
void add_error(Draws& sum, const Mat3& lower_root, const Draws& standard,
               const std::vector<double>& stretch);

// A seeded generator for shuffles and bootstraps: SplitMix64 (Steele, Lea, Flood 2014). The same
// numbers on every platform, which the distributions of <random> do not promise.
class Generator {
 public:
  explicit Generator(std::uint64_t seed) : state_(seed) {}
  std::uint64_t next();
  double uniform();                      // in (0, 1)
  double normal();                       // by the inverse of the distribution
  std::size_t below(std::size_t count);  // uniform on 0 … count − 1

 private:
  std::uint64_t state_;
};

// The seed of one of many streams. Seeds that differ by the generator's own step give one stream,
// begun a draw later; mixed ones begin anywhere among its 2^64 draws.
std::uint64_t stream_seed(std::uint64_t seed, std::uint64_t stream);

// L with L Lᵀ = covariance, lower triangular; a direction without variance gets zeros.
Mat3 lower_root(const Mat3& covariance);

}  // namespace mamelon::detail
