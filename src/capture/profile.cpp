#include "mamelon/profile.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

#include <Eigen/Dense>

#include "mamelon/difference.h"
#include "mamelon/error.h"

#include "base/numbers.h"
#include "base/parallel.h"
#include "capture/belongs.h"
#include "capture/icc.h"
#include "capture/lineariser.h"
#include "colour/vectors.h"

namespace mamelon {
namespace {

// White of the profile connection space (ICC.1:2022, 7.2.16), from which D50/2 computed from tables
// differs in the fifth digit.
constexpr Xyz connection_white = {0.9642, 1.0, 0.8249};
constexpr std::size_t curve_points = 4096;
constexpr std::size_t table_points = 29;

// CIE L* of a light from 0 to 1, from 0 to 1: the scale on which the table's colours lie evenly.
double lightness(double light) {
  return to_lab(Xyz{light, light, light}, Xyz{1, 1, 1}).l / 100;
}
double light_at(double lightness_0_1) {
  return to_xyz(Lab{100 * lightness_0_1, 0, 0}, Xyz{1, 1, 1}).y;
}

// What the fit makes of light at the card's centre, in the profile connection space.
class Connection {
 public:
  explicit Connection(const CardFit& fit)
      : correction_(*fit.correction),
        centre_(to_px(fit, {fit.card_width_mm / 2, fit.card_height_mm / 2})),
        white_(white_point(fit.viewing)),
        to_connection_(adaptation_matrix(white_, connection_white, Adaptation::bradford)) {}

  [[nodiscard]] Xyz xyz(const Vec3& light) const {
    const Lab lab = correction_.lab(light, Mat3{}, centre_).value;
    const Xyz seen = to_xyz(lab, white_);
    const Vec3 adapted = multiply(to_connection_, Vec3{seen.x, seen.y, seen.z});
    return {adapted[0], adapted[1], adapted[2]};
  }
  [[nodiscard]] Lab lab(const Vec3& light) const { return to_lab(xyz(light), connection_white); }
  [[nodiscard]] const Mat3& adaptation() const { return to_connection_; }

 private:
  const Correction& correction_;
  PointPx centre_;
  Xyz white_;
  Mat3 to_connection_;
};

// The matrix that does what the fit does, within a hundredth of what the eye sees; nothing where
// there is none.
std::optional<Mat3> as_matrix(const Connection& connection) {
  constexpr int steps = 6;
  constexpr double tolerance_de00 = 0.02;
  std::vector<Vec3> lights;
  for (int r = 1; r <= steps; ++r) {
    for (int g = 1; g <= steps; ++g) {
      for (int b = 1; b <= steps; ++b) {
        lights.push_back({0.15 * r, 0.15 * g, 0.15 * b});
      }
    }
  }
  const auto count = static_cast<Eigen::Index>(lights.size());
  Eigen::MatrixX3d in(count, 3);
  Eigen::MatrixX3d out(count, 3);
  for (Eigen::Index i = 0; i < count; ++i) {
    const Vec3& light = lights[static_cast<std::size_t>(i)];
    in.row(i) = detail::to_eigen(light);
    out.row(i) = detail::to_eigen(connection.xyz(light));
  }
  const Eigen::Matrix3d matrix = in.colPivHouseholderQr().solve(out).transpose();
  for (const Vec3& light : lights) {
    const Lab by_matrix =
        to_lab(detail::to_xyz(Eigen::Vector3d(matrix * detail::to_eigen(light))), connection_white);
    if (!(de00(by_matrix, connection.lab(light)) < tolerance_de00)) return {};
  }
  return detail::to_mat3(matrix);
}

// ICC.1:2022, 6.3.4.2: L* 0–100 and a*, b* −128…127 over the full range of 16 bits.
std::array<std::uint16_t, 3> encoded(const Lab& lab) {
  const auto code = [](double share) {
    return static_cast<std::uint16_t>(std::lround(65535 * std::clamp(share, 0.0, 1.0)));
  };
  return {code(lab.l / 100), code((lab.a + 128) / 255), code((lab.b + 128) / 255)};
}

std::vector<std::uint16_t> table_of(const Connection& connection) {
  constexpr std::size_t n = table_points;
  std::vector<std::uint16_t> table(3 * n * n * n);
  detail::parallel_for(n, 1, [&](std::size_t begin, std::size_t end) {
    const auto light = [](std::size_t i) { return light_at(static_cast<double>(i) / (n - 1)); };
    for (std::size_t r = begin; r < end; ++r) {
      for (std::size_t g = 0; g < n; ++g) {
        for (std::size_t b = 0; b < n; ++b) {
          const auto code = encoded(connection.lab({light(r), light(g), light(b)}));
          std::copy(code.begin(), code.end(),
                    table.begin() + static_cast<std::ptrdiff_t>(3 * ((r * n + g) * n + b)));
        }
      }
    }
  });
  return table;
}

// Light of a code from 0 to 1, between the file's own codes by a straight line.
double light_of(const std::vector<std::uint16_t>& curve, double code) {
  const double at = code * static_cast<double>(curve.size() - 1);
  const auto low = std::min(static_cast<std::size_t>(at), curve.size() - 2);
  const double share = at - static_cast<double>(low);
  return ((1 - share) * curve[low] + share * curve[low + 1]) / 65535.0;
}

// The code of a light; curves never fall.
double code_of(const std::vector<std::uint16_t>& curve, double light) {
  double low = 0;
  double high = 1;
  for (int i = 0; i < 50; ++i) {
    const double middle = (low + high) / 2;
    (light_of(curve, middle) < light ? low : high) = middle;
  }
  return (low + high) / 2;
}

std::string describe(const CardFit& fit, const std::string& card_name) {
  return "mamelon, card " + card_name.substr(0, 60) + ": a patch left out of the fit within dE00 " +
         detail::format_fixed(fit.loo_de00_median, 2) + " (median), " +
         detail::format_fixed(fit.loo_de00_max, 2) + " (largest); " + to_string(fit.viewing);
}

}  // namespace

InputProfile input_profile(std::span<const std::byte> photo_file, std::string_view source,
                           const CardFit& fit, const std::string& card_name) {
  if (fit.viewing.observer != Observer::deg2) {
    throw ArgumentError("an ICC profile holds colours of the 2 degree observer, not those under " +
                        to_string(fit.viewing));
  }
  const std::string name(source);
  detail::check_file_belongs(photo_file, fit, "making an input profile of " + name);
  const detail::Lineariser file =
      detail::choose_lineariser(detail::decode_raster(photo_file, name), {}, name);
  if (file.profile) {
    throw ArgumentError(name +
                        ": its embedded profile is made of tables, on which no second profile can "
                        "be set; give the photo with a matrix profile, such as sRGB");
  }
  const Connection connection(fit);
  detail::ProfileContent content;
  content.description = describe(fit, card_name);
  content.adaptation = connection.adaptation();
  content.matrix = as_matrix(connection);
  for (std::size_t c = 0; c < 3; ++c) {
    for (std::size_t i = 0; i < curve_points; ++i) {
      const double light =
          light_of(file.curves[c], static_cast<double>(i) / static_cast<double>(curve_points - 1));
      content.curves[c].push_back(content.matrix ? light : lightness(light));
    }
  }
  if (!content.matrix) {
    content.table_points = table_points;
    content.table = table_of(connection);
  }
  InputProfile profile;
  profile.description = content.description;
  profile.is_matrix = content.matrix.has_value();
  profile.bytes = detail::write_profile(content);

  std::vector<Vec3> codes;
  std::vector<Lab> wanted;
  for (const PatchFit& patch : fit.patches) {
    if (!patch.used) continue;
    wanted.push_back(connection.lab(patch.rgb));
    codes.push_back({});
    for (std::size_t c = 0; c < 3; ++c) codes.back()[c] = code_of(file.curves[c], patch.rgb[c]);
  }
  const std::vector<Lab> found = detail::lab_through_profile(profile.bytes, codes);
  std::vector<double> apart;
  for (std::size_t i = 0; i < found.size(); ++i) apart.push_back(de00(found[i], wanted[i]));
  if (!apart.empty()) {
    std::sort(apart.begin(), apart.end());
    profile.de00_median = apart[apart.size() / 2];
    profile.de00_max = apart.back();
  }
  return profile;
}

}  // namespace mamelon
