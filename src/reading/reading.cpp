#include "mamelon/reading.h"

#include <array>
#include <utility>

#include "mamelon/difference.h"
#include "mamelon/error.h"

#include "base/numbers.h"
#include "colour/vectors.h"

namespace mamelon {
namespace {

using detail::trace;
using detail::vector_of;

// Digest of a spectrum: its grid and values as shortest text.
std::string digest_of(const Grid& grid, const std::vector<double>& values) {
  std::string record = detail::format_number(grid.first_nm);
  record.append(" ").append(detail::format_number(grid.step_nm));
  for (const double value : values) record.append(" ").append(detail::format_number(value));
  return sha256_hex(std::string_view(record));
}

// The mean of the curves where every repeat has one on the same grid.
std::optional<Reflectance> mean_curve(std::span<const Reading> repeats) {
  for (const Reading& reading : repeats)
    if (!reading.reflectance || reading.reflectance->grid() != repeats.front().reflectance->grid())
      return {};
  std::vector<double> mean(repeats.front().reflectance->size(), 0.0);
  for (const Reading& reading : repeats)
    for (std::size_t i = 0; i < mean.size(); ++i)
      mean[i] += (*reading.reflectance)[i] / static_cast<double>(repeats.size());
  return Reflectance(repeats.front().reflectance->grid(), std::move(mean));
}

}  // namespace

double lab_disagreement(const Lab& lab, const Reflectance& reflectance, const Viewing& viewing) {
  return de00(lab, to_lab(reflectance, viewing));
}

Reading combine(std::span<const Reading> repeats) {
  if (repeats.empty()) throw ArgumentError("combining readings needs at least one reading");
  const double n = static_cast<double>(repeats.size());
  Vec3 mean{};
  for (const Reading& reading : repeats) {
    check_same_viewing(repeats.front().viewing, reading.viewing,
                       "combining the readings of '" + repeats.front().label + "'");
    const Vec3 value = vector_of(reading.lab.value);
    for (std::size_t i = 0; i < 3; ++i) mean[i] += value[i] / n;
  }

  Reading result = repeats.front();
  result.lab.value = {mean[0], mean[1], mean[2]};
  result.count = 0;
  result.warnings.clear();
  std::vector<std::string> inputs;
  for (const Reading& reading : repeats) {
    result.count += reading.count;
    result.warnings.insert(result.warnings.end(), reading.warnings.begin(), reading.warnings.end());
    if (trace(reading.lab.shared) > trace(result.lab.shared))
      result.lab.shared = reading.lab.shared;
    if (reading.kind != result.kind) result.kind = SurfaceKind::unknown;
    inputs.push_back(reading.provenance.digest);
  }
  result.lab.dof = n - 1;
  if (repeats.size() > 1) {
    Mat3 scatter{};
    for (const Reading& reading : repeats) {
      const Vec3 value = vector_of(reading.lab.value);
      for (std::size_t i = 0; i < 3; ++i)
        for (std::size_t j = 0; j < 3; ++j)
          scatter[i][j] += (value[i] - mean[i]) * (value[j] - mean[j]);
    }
    result.lab.random = scale(scatter, 1 / (n * (n - 1)));
  }
  result.reflectance = mean_curve(repeats);
  result.provenance = make_provenance("combine", "", std::move(inputs));
  return result;
}

Reading read_spectrum(std::string label, const Reflectance& reflectance, const Viewing& viewing) {
  std::vector<std::string> inputs = {
      digest_of(reflectance.grid(), reflectance.values()),
      digest_of(viewing.illuminant.power().grid(), viewing.illuminant.power().values()),
      cie_tables_digest()};
  Reading reading{
      .label = std::move(label),
      .zone = {},
      .lab = {},
      .reflectance = reflectance,
      .viewing = viewing,
      .count = 1,
      .warnings = {},
      .provenance = make_provenance("read_spectrum", to_string(viewing), std::move(inputs))};
  reading.lab.value = to_lab(reflectance, viewing);
  return reading;
}

}  // namespace mamelon
