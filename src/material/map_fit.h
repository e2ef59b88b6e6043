#pragma once
// The most probable constants behind a set of drawdowns.

#include <span>
#include <vector>

#include <Eigen/Dense>

#include "mamelon/drawdown.h"

#include "material/reading_model.h"

namespace mamelon::detail {

// Unknowns: ln absorption and ln scattering of each band, g by transport and the thickness errors,
// the last two counted in sds from what is expected.
class MapFit {
 public:
  MapFit(std::span<const Drawdown> drawdowns, const PasteFitOptions& options);

  // Throws ModelError when it does not settle.
  void settle();
  [[nodiscard]] PasteFit result() const;

 private:
  [[nodiscard]] bool has_g() const { return options_.engine == Engine::transport; }
  [[nodiscard]] Eigen::Index thickness_at(std::size_t specimen) const {
    return 2 * bands_ + (has_g() ? 1 : 0) + static_cast<Eigen::Index>(specimen);
  }
  // Gauss–Newton with Marquardt's damping.
  void descend();
  // How far a move goes, in a measure in which steps are limited and called small.
  [[nodiscard]] double reach(const Eigen::VectorXd& move) const;
  void keep_in_bounds(Eigen::VectorXd& at) const;
  [[nodiscard]] Constants constants(const Eigen::VectorXd& at) const;
  [[nodiscard]] double thickness(const Eigen::VectorXd& at, std::size_t specimen) const;
  [[nodiscard]] std::vector<Eigen::VectorXd> readings(const Eigen::VectorXd& at) const;
  [[nodiscard]] Eigen::VectorXd residuals(const Eigen::VectorXd& at) const;
  [[nodiscard]] Eigen::MatrixXd jacobian(const Eigen::VectorXd& at) const;
  void add_reading(std::size_t drawdown, const Eigen::VectorXd& reading, Eigen::Index& row,
                   Eigen::VectorXd& out) const;
  [[nodiscard]] double bend_sd(bool scattering) const;
  // What an unknown is expected to be before any reading, and how surely.
  [[nodiscard]] double usual(Eigen::Index i) const;
  [[nodiscard]] double usual_sd(Eigen::Index i) const;
  [[nodiscard]] Vec3 lab_of(const Eigen::VectorXd& reflectance) const;
  [[nodiscard]] Eigen::MatrixXd lab_slope(const Eigen::VectorXd& reflectance) const;
  [[nodiscard]] Eigen::MatrixXd public_covariance() const;
  void describe_readings(PasteFit& fit) const;

  std::span<const Drawdown> drawdowns_;
  PasteFitOptions options_;
  ReadingModel model_;
  Grid grid_;
  Eigen::Index bands_;
  Eigen::Index data_rows_ = 0;
  Eigen::Index rows_ = 0;
  std::vector<const Drawdown*> specimens_;
  std::vector<std::size_t> specimen_of_;
  Eigen::MatrixXd tristimulus_;  // 3 × bands
  Xyz white_;
  std::vector<Eigen::VectorXd> noise_;  // sd of each row of a drawdown
  Eigen::VectorXd unknown_;
};

}  // namespace mamelon::detail
