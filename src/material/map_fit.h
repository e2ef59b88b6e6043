#pragma once
// The most probable constants behind a set of drawdowns.

#include <span>
#include <vector>

#include <Eigen/Dense>

#include "mamelon/drawdown.h"

#include "material/reading_model.h"

namespace mamelon::detail {

// Where the stated reflectances of the bare backings come from.
enum class Bare {
  same_scale,  // the bare backings were read by the same instrument and share its scale
  own_scale,   // they are known otherwise
};

// Unknowns: ln absorption and ln scattering of each band; by transport g and the refractive index;
// the thickness errors; by transport the instrument's scale and the level of the backings; the size
// of the edge loss where there is one; the scale of transmittances where there are any; the errors
// that colours of a photo share. All but the first two are counted in sds from what is expected.
class MapFit {
 public:
  // A drawdown without an aperture is taken to be read by `unknown`; without that to lose nothing.
  MapFit(std::span<const Drawdown> drawdowns, const PasteFitOptions& options,
         const std::optional<Aperture>& unknown = {}, Bare bare = Bare::same_scale);

  // Throws ModelError when it does not settle.
  void settle();
  [[nodiscard]] PasteFit result() const;
  // Chi-square of the readings and of what was expected of the unknowns.
  [[nodiscard]] double misfit() const;
  // −2 ln of the probability of the readings, up to what all models of them share.
  [[nodiscard]] double unlikeliness() const;
  // From where another fit of the same drawdowns came to rest.
  void start_from(const MapFit& other);

 private:
  [[nodiscard]] bool has_g() const { return options_.engine == Engine::transport; }
  [[nodiscard]] bool has_index() const { return has_g() && options_.refractive_index_sd > 0; }
  [[nodiscard]] bool has_scale() const { return has_g() && options_.scale_sd > 0; }
  [[nodiscard]] bool has_backing() const {
    return has_g() && options_.backing_sd > 0 && model_.has_backing_in_air();
  }
  [[nodiscard]] bool has_transmitted() const { return has_scale() && model_.has_transmittance(); }
  [[nodiscard]] bool has_loss() const { return options_.loss_sd > 0 && model_.has_loss(); }
  [[nodiscard]] Eigen::Index index_at() const { return 2 * bands_ + (has_g() ? 1 : 0); }
  [[nodiscard]] Eigen::Index thickness_at(std::size_t specimen) const {
    return index_at() + (has_index() ? 1 : 0) + static_cast<Eigen::Index>(specimen);
  }
  [[nodiscard]] Eigen::Index scale_at() const { return thickness_at(specimens_.size()); }
  [[nodiscard]] Eigen::Index backing_at() const { return scale_at() + (has_scale() ? 1 : 0); }
  [[nodiscard]] Eigen::Index loss_at() const { return backing_at() + (has_backing() ? 1 : 0); }
  [[nodiscard]] Eigen::Index transmitted_at() const { return loss_at() + (has_loss() ? 1 : 0); }
  [[nodiscard]] Eigen::Index photos_at() const {
    return transmitted_at() + (has_transmitted() ? 1 : 0);
  }
  [[nodiscard]] Eigen::Index count() const { return photos_at() + photo_errors_; }
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
  [[nodiscard]] double bend_sd(bool scattering) const;
  // What an unknown is expected to be before any reading, and how surely.
  [[nodiscard]] double usual(Eigen::Index i) const;
  [[nodiscard]] double usual_sd(Eigen::Index i) const;
  [[nodiscard]] Vec3 lab_of(const Eigen::VectorXd& reflectance) const;
  [[nodiscard]] Eigen::MatrixXd lab_slope(const Eigen::VectorXd& reflectance) const;
  [[nodiscard]] Eigen::MatrixXd own_covariance() const;
  [[nodiscard]] Eigen::MatrixXd public_covariance() const;
  void describe_readings(PasteFit& fit) const;

  std::span<const Drawdown> drawdowns_;
  PasteFitOptions options_;
  Bare bare_;
  ReadingModel model_;
  Grid grid_;
  Eigen::Index bands_;
  Eigen::Index data_rows_ = 0;
  Eigen::Index rows_ = 0;
  std::vector<const Drawdown*> specimens_;
  std::vector<std::size_t> specimen_of_;
  // Of a drawdown the first of its photo's errors among all photos', and what each does to its Lab.
  std::vector<Eigen::Index> photo_error_of_;
  std::vector<Eigen::MatrixXd> photo_slope_;  // 3 × errors
  Eigen::Index photo_errors_ = 0;
  Eigen::MatrixXd tristimulus_;  // 3 × bands
  Xyz white_;
  std::vector<Eigen::VectorXd> noise_;  // sd of each row of a drawdown
  Eigen::VectorXd unknown_;
};

// The covariance of a fit with all that is read off it.
void take_covariance(PasteFit& fit, const Eigen::MatrixXd& covariance);

}  // namespace mamelon::detail
