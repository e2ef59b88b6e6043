#include "mamelon/transfer.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <unordered_map>
#include <utility>

#include <Eigen/Dense>

#include "mamelon/appearance.h"

#include "base/numbers.h"
#include "colour/vectors.h"
#include "shade/content.h"
#include "shade/distributions.h"
#include "shade/pair_metric.h"
#include "shade/spread.h"

namespace mamelon {
namespace {

using detail::to_eigen;
using detail::to_mat3;
using detail::to_vec3;

using Eigen::Index;
using Eigen::Matrix3d;
using Eigen::Vector3d;

constexpr std::array<TransferForm, 4> forms{TransferForm::none, TransferForm::offset,
                                            TransferForm::diagonal, TransferForm::affine};

struct Pair {
  std::string name;
  Vector3d from, to;
};

Lab to_lab_value(const Vector3d& v) {
  return {v[0], v[1], v[2]};
}
// Unknowns of a form for each output coordinate.
double unknowns(TransferForm form) {
  switch (form) {
    case TransferForm::none:
      return 0;
    case TransferForm::offset:
      return 1;
    case TransferForm::diagonal:
      return 2;
    case TransferForm::affine:
      return 4;
  }
  return 0;
}

struct Map {
  Matrix3d matrix = Matrix3d::Identity();
  Vector3d offset = Vector3d::Zero();
  Vector3d centre = Vector3d::Zero();
  Matrix3d inverse_spread = Matrix3d::Zero();

  [[nodiscard]] Vector3d operator()(const Vector3d& v) const { return matrix * v + offset; }
};

// Least squares over all pairs but one; nothing where they do not determine the form.
std::optional<Map> fit(const std::vector<Pair>& pairs, TransferForm form, std::size_t left_out) {
  Map map;
  Vector3d to_centre = Vector3d::Zero();
  double count = 0;
  for (std::size_t i = 0; i < pairs.size(); ++i) {
    if (i == left_out) continue;
    map.centre += pairs[i].from;
    to_centre += pairs[i].to;
    count += 1;
  }
  map.centre /= count;
  to_centre /= count;
  if (form == TransferForm::none) return map;
  // Three more readings than unknowns, or the scatter about the fit would mean nothing.
  if (count < unknowns(form) + 2) return std::nullopt;
  Matrix3d spread = Matrix3d::Zero();
  Matrix3d cross = Matrix3d::Zero();
  for (std::size_t i = 0; i < pairs.size(); ++i) {
    if (i == left_out) continue;
    const Vector3d x = pairs[i].from - map.centre;
    spread += x * x.transpose();
    cross += (pairs[i].to - to_centre) * x.transpose();
  }
  if (form == TransferForm::diagonal) {
    const Vector3d own = spread.diagonal();
    if (own.minCoeff() <= 1e-6 * count) return std::nullopt;
    map.inverse_spread = own.cwiseInverse().asDiagonal();
    map.matrix = (cross.diagonal().cwiseQuotient(own)).asDiagonal();
  } else if (form == TransferForm::affine) {
    const Eigen::SelfAdjointEigenSolver<Matrix3d> eigen(spread);
    if (eigen.eigenvalues()[0] <= 1e-6 * count) return std::nullopt;
    map.inverse_spread = spread.inverse();
    map.matrix = cross * map.inverse_spread;
  }
  map.offset = to_centre - map.matrix * map.centre;
  return map;
}

// Squared ΔE00 of every pair to the map fitted without it.
std::optional<std::vector<double>> left_out_squares(const std::vector<Pair>& pairs,
                                                    TransferForm form) {
  std::vector<double> squares;
  for (std::size_t i = 0; i < pairs.size(); ++i) {
    const auto map = fit(pairs, form, i);
    if (!map) return std::nullopt;
    const double de = de00(to_lab_value((*map)(pairs[i].from)), to_lab_value(pairs[i].to));
    squares.push_back(de * de);
  }
  return squares;
}

double mean(const std::vector<double>& values) {
  double sum = 0;
  for (const double v : values) sum += v;
  return sum / static_cast<double>(values.size());
}

// Standard error of the mean difference of two paired samples.
double paired_error(const std::vector<double>& a, const std::vector<double>& b) {
  const auto n = static_cast<double>(a.size());
  const double centre = mean(a) - mean(b);
  double sum = 0;
  for (std::size_t i = 0; i < a.size(); ++i) {
    const double d = a[i] - b[i] - centre;
    sum += d * d;
  }
  return std::sqrt(sum / (n - 1) / n);
}

std::vector<Pair> paired(const TabSet& from, const TabSet& to) {
  std::unordered_map<std::string, const Tab*> of_name;
  for (const Tab& tab : to.tabs) of_name[tab.name] = &tab;
  std::vector<Pair> pairs;
  for (const Tab& tab : from.tabs)
    if (const auto other = of_name.find(tab.name); other != of_name.end())
      pairs.push_back({tab.name, to_eigen(tab.lab.value), to_eigen(other->second->lab.value)});
  return pairs;
}

// By how much the uncertainty of the fit widens the residual for a colour, one figure a coordinate.
Vec3 leverage(const Transfer& transfer, const Vec3& at) {
  Vec3 h{};
  if (transfer.form == TransferForm::none) return h;
  const Vec3 d{at[0] - transfer.centre[0], at[1] - transfer.centre[1], at[2] - transfer.centre[2]};
  const Vec3 image = multiply(transfer.inverse_spread, d);
  const double whole = d[0] * image[0] + d[1] * image[1] + d[2] * image[2];
  for (std::size_t i = 0; i < 3; ++i)
    h[i] = 1 / static_cast<double>(transfer.tabs) +
           (transfer.form == TransferForm::affine ? whole : d[i] * image[i]);
  return h;
}

// Degrees of freedom of the sum of two covariances, weighed as ΔE00 there; below 1: known.
double joined_dof(const Lab& at, const Mat3& first, double first_dof, const Mat3& second,
                  double second_dof) {
  const Mat3 metric = detail::local_metric(at, {});
  const auto known = [](double dof) { return std::isinf(dof) || dof < 1 ? 0.0 : dof; };
  const std::array<std::pair<double, double>, 2> parts{
      std::pair{detail::mean_square(metric, first), known(first_dof)},
      std::pair{detail::mean_square(metric, second), known(second_dof)}};
  return detail::satterthwaite_dof(parts);
}

// A residual widened by the leverage of each coordinate.
Mat3 widened(const Mat3& residual, const Vec3& factor) {
  Mat3 out = residual;
  for (std::size_t i = 0; i < 3; ++i)
    for (std::size_t j = 0; j < 3; ++j) out[i][j] *= std::sqrt(factor[i] * factor[j]);
  return out;
}

// What the shift of the map is not known by: common to all colours that it carries.
Mat3 common_error(const Transfer& transfer) {
  return transfer.form == TransferForm::none
             ? Mat3{}
             : scale(transfer.residual, 1 / static_cast<double>(transfer.tabs));
}

Measured<Lab> carried(const Transfer& transfer, const Measured<Lab>& lab) {
  const Vec3 at{lab.value.l, lab.value.a, lab.value.b};
  const Vec3 image = multiply(transfer.matrix, at);
  Vec3 own = leverage(transfer, at);
  Measured<Lab> out = lab;
  out.value = {image[0] + transfer.offset[0], image[1] + transfer.offset[1],
               image[2] + transfer.offset[2]};
  out.random = propagate(transfer.matrix, lab.random);
  out.shared = propagate(transfer.matrix, lab.shared);
  for (double& h : own) h += 1;
  const Mat3 left = widened(transfer.residual, own);
  out.dof = joined_dof(out.value, out.random, lab.dof, left, transfer.residual_dof);
  out.random = add(out.random, left);
  return out;
}

bool outside(const Transfer& transfer, const Lab& lab) {
  const Vec3 at{lab.l, lab.a, lab.b};
  for (std::size_t i = 0; i < 3; ++i) {
    const double margin = 0.1 * (transfer.high[i] - transfer.low[i]);
    if (at[i] < transfer.low[i] - margin || at[i] > transfer.high[i] + margin) return true;
  }
  return false;
}

// What a transfer is told by: where it was fitted, what it was fitted to, and not the numbers that
// came out.
std::string stated_by(const Transfer& transfer) {
  if (!transfer.provenance.digest.empty()) return {};
  std::string text = std::string(to_string(transfer.form));
  for (const auto& row : transfer.matrix)
    for (const double v : row) text += " " + detail::format_number(v);
  for (const double v : transfer.offset) text += " " + detail::format_number(v);
  return text;
}

// What three coordinates of the tabs, centred, leave of a list of values of them.
class Rest {
 public:
  explicit Rest(std::vector<Vector3d> centred) : centred_(std::move(centred)) {
    Matrix3d spread = Matrix3d::Zero();
    for (const Vector3d& x : centred_) spread += x * x.transpose();
    inverse_ = spread.inverse();
  }
  [[nodiscard]] std::vector<double> operator()(std::vector<double> values) const {
    const double centre = mean(values);
    Vector3d along = Vector3d::Zero();
    for (std::size_t i = 0; i < values.size(); ++i) along += values[i] * centred_[i];
    const Vector3d slope = inverse_ * along;
    for (std::size_t i = 0; i < values.size(); ++i) values[i] -= centre + slope.dot(centred_[i]);
    return values;
  }

 private:
  std::vector<Vector3d> centred_;
  Matrix3d inverse_;
};

// Whether what the full linear map leaves follows the square of one coordinate: one more column of
// the design, tested over the three outputs at once (Hotelling's T² of its coefficients).
void fill_curvature(const std::vector<Pair>& pairs, Transfer& transfer) {
  constexpr std::size_t least_pairs = 9;
  constexpr double shows = 0.01;
  constexpr std::array<const char*, 3> names{"L*", "a*", "b*"};
  const std::size_t count = pairs.size();
  if (count < least_pairs || !fit(pairs, TransferForm::affine, count)) return;
  Vector3d centre = Vector3d::Zero();
  for (const Pair& pair : pairs) centre += pair.from / static_cast<double>(count);
  std::vector<Vector3d> centred;
  for (const Pair& pair : pairs) centred.emplace_back(pair.from - centre);
  const Rest rest(centred);
  std::array<std::vector<double>, 3> left;
  for (std::size_t k = 0; k < 3; ++k) {
    for (const Pair& pair : pairs) left[k].push_back(pair.to[static_cast<Index>(k)]);
    left[k] = rest(left[k]);
  }
  std::size_t clearest = 0;
  for (std::size_t k = 0; k < 3; ++k) {
    std::vector<double> square;
    for (const Vector3d& x : centred) square.push_back(std::pow(x[static_cast<Index>(k)], 2));
    square = rest(square);
    double size = 0;
    for (const double s : square) size += s * s;
    if (!(size > 0)) continue;
    Matrix3d unexplained = Matrix3d::Zero();
    Vector3d along = Vector3d::Zero();
    for (std::size_t i = 0; i < count; ++i) {
      const Vector3d r(left[0][i], left[1][i], left[2][i]);
      unexplained += r * r.transpose();
      along += square[i] / std::sqrt(size) * r;
    }
    unexplained -= along * along.transpose();
    if (!(unexplained.determinant() > 0)) continue;
    const double dof = static_cast<double>(count) - 5;
    const double statistic = along.dot(unexplained.inverse() * along) * (dof - 2) / 3;
    const double p = std::min(1.0, 3 * (1 - detail::f_cdf(statistic, 3, dof - 2)));
    if (p >= transfer.curvature_p_value) continue;
    transfer.curvature_p_value = p;
    clearest = k;
  }
  if (transfer.curvature_p_value < shows)
    transfer.warnings.push_back(
        std::string("the two instruments differ by more than a linear map can follow: what is left "
                    "bends with ") +
        names[clearest] + "; between the fitted tabs errors are larger than stated");
}

constexpr const char* outside_warning =
    "outside the colours that the instrument transfer was fitted on";

}  // namespace

Transfer fit_transfer(const TabSet& from, const TabSet& to) {
  check_tab_set(from);
  check_tab_set(to);
  check_same_viewing(from.viewing, to.viewing, "the two instruments' readings of the tabs");
  const std::vector<Pair> pairs = paired(from, to);
  constexpr std::size_t least_pairs = 4;
  if (pairs.size() < least_pairs)
    throw ModelError("the two sets have " + std::to_string(pairs.size()) +
                     " tabs in common; a transfer needs at least 4, read on both instruments");

  std::array<std::optional<std::vector<double>>, forms.size()> squares;
  std::size_t best = 0;
  for (std::size_t k = 0; k < forms.size(); ++k) {
    squares[k] = left_out_squares(pairs, forms[k]);
    if (squares[k] && mean(*squares[k]) < mean(*squares[best])) best = k;
  }
  Transfer transfer{.form = TransferForm::none,
                    .matrix = {},
                    .offset = {},
                    .from = from.name,
                    .to = to.name,
                    .tabs = pairs.size(),
                    .residual_de00 = 0,
                    .worst_de00 = 0,
                    .residual = {},
                    .scores = {},
                    .centre = {},
                    .inverse_spread = {},
                    .low = {},
                    .high = {},
                    .viewing = from.viewing,
                    .warnings = {},
                    .provenance = {}};
  std::size_t chosen = best;
  for (std::size_t k = forms.size(); k-- > 0;) {
    if (!squares[k]) continue;
    const double error = paired_error(*squares[k], *squares[best]);
    transfer.scores.insert(transfer.scores.begin(),
                           {forms[k], std::sqrt(mean(*squares[k])), error});
    if (k < chosen && mean(*squares[k]) <= mean(*squares[best]) + error) chosen = k;
  }
  const auto& left = *squares[chosen];
  transfer.form = forms[chosen];
  transfer.residual_de00 = std::sqrt(mean(left));
  transfer.worst_de00 = std::sqrt(*std::max_element(left.begin(), left.end()));
  if (transfer.residual_de00 > threshold::acceptable_de00)
    throw ModelError("no transfer between '" + from.name + "' and '" + to.name +
                     "' predicts a tab left out better than ΔE00 " +
                     detail::format_fixed(transfer.residual_de00, 2) + " (root mean square); " +
                     detail::format_fixed(threshold::acceptable_de00, 1) +
                     " or less would be of use: read the set on the instrument itself");

  const Map map = fit(pairs, transfer.form, pairs.size()).value();
  transfer.matrix = to_mat3(map.matrix);
  transfer.offset = to_vec3(map.offset);
  transfer.centre = to_vec3(map.centre);
  transfer.inverse_spread = to_mat3(map.inverse_spread);
  Matrix3d scatter = Matrix3d::Zero();
  Vector3d low = pairs.front().from;
  Vector3d high = low;
  for (const Pair& pair : pairs) {
    const Vector3d rest = pair.to - map(pair.from);
    scatter += rest * rest.transpose();
    low = low.cwiseMin(pair.from);
    high = high.cwiseMax(pair.from);
  }
  const double dof = static_cast<double>(pairs.size()) - unknowns(transfer.form);
  transfer.residual = to_mat3(scatter / dof);
  transfer.residual_dof = dof;
  fill_curvature(pairs, transfer);
  transfer.low = to_vec3(low);
  transfer.high = to_vec3(high);
  for (const auto& [name, smallest] :
       {std::pair{"affine", TransferForm::affine}, std::pair{"diagonal", TransferForm::diagonal}})
    if (!squares[static_cast<std::size_t>(smallest)])
      transfer.warnings.push_back(std::string("too few tabs, or too alike, to try the ") + name +
                                  " form");
  const auto digest = [](const TabSet& set) {
    return set.provenance.digest.empty() ? detail::digest_of(set) : set.provenance.digest;
  };
  transfer.provenance = make_provenance("fit_transfer", "", {digest(from), digest(to)});
  return transfer;
}

double joint_p_value(const Measured<Lab>& measured, const Lab& truth) {
  const Mat3 whole = measured.covariance();
  if (whole == Mat3{}) throw ArgumentError("a colour without uncertainty has no joint region");
  const Vec3 off{truth.l - measured.value.l, truth.a - measured.value.a,
                 truth.b - measured.value.b};
  const double squared = detail::quadratic(detail::covariance_inverse(whole), off);
  const double dof = measured.dof;
  if (std::isinf(dof) || dof < 1) return 1 - detail::chi_squared_cdf(squared, 3);
  if (!(dof > 2)) return 1;
  return 1 - detail::f_cdf(squared * (dof - 2) / (3 * dof), 3, dof - 2);
}

Reading apply(const Transfer& transfer, const Reading& reading) {
  check_same_viewing(reading.viewing, transfer.viewing,
                     "reading '" + reading.label + "' against the instrument transfer");
  Reading out = reading;
  out.lab = carried(transfer, reading.lab);
  out.reflectance.reset();
  if (outside(transfer, reading.lab.value)) out.warnings.emplace_back(outside_warning);
  out.provenance = make_provenance(
      "apply_transfer", stated_by(transfer),
      {reading.provenance.digest.empty() ? detail::digest_of(reading) : reading.provenance.digest,
       transfer.provenance.digest});
  return out;
}

TabSet apply(const Transfer& transfer, const TabSet& tabs) {
  check_tab_set(tabs);
  check_same_viewing(tabs.viewing, transfer.viewing, "the tab set against the instrument transfer");
  TabSet out = tabs;
  const Mat3 common = common_error(transfer);
  for (Tab& tab : out.tabs) {
    tab.lab = carried(transfer, tab.lab);
    tab.shared_dof =
        joined_dof(tab.lab.value, tab.lab.shared, tab.shared_dof, common, transfer.residual_dof);
    tab.lab.random = detail::positive_part(add(tab.lab.random, scale(common, -1)));
    tab.lab.shared = add(tab.lab.shared, common);
    tab.reflectance.reset();
  }
  out.provenance = make_provenance(
      "apply_transfer", stated_by(transfer),
      {tabs.provenance.digest.empty() ? detail::digest_of(tabs) : tabs.provenance.digest,
       transfer.provenance.digest});
  return out;
}

}  // namespace mamelon
