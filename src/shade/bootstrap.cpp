#include "shade/bootstrap.h"

#include <cmath>

#include "base/parallel.h"
#include "shade/distributions.h"
#include "shade/order_statistics.h"
#include "shade/sample.h"

namespace mamelon::detail {
namespace {

struct MeanAndError {
  double mean = 0;
  double error = 0;  // standard error of the mean
};

template <class Value>
MeanAndError mean_and_error(std::size_t count, const Value& value) {
  double sum = 0;
  double squares = 0;
  for (std::size_t i = 0; i < count; ++i) {
    const double v = value(i);
    sum += v;
    squares += v * v;
  }
  const auto n = static_cast<double>(count);
  const double mean = sum / n;
  return {mean, std::sqrt(std::fmax(0.0, squares / n - mean * mean) / (n - 1))};
}

}  // namespace

std::pair<double, double> interval_of_mean(const std::vector<double>& values, std::size_t resamples,
                                           std::uint64_t seed) {
  constexpr double tail = 0.025;
  constexpr std::size_t few = 10;
  const std::size_t count = values.size();
  if (count < 2) return {values.front(), values.front()};
  double centre = 0;
  for (const double v : values) centre += v / static_cast<double>(count);
  // Centred, the sums of squares stay clear of cancellation.
  const auto centred = [&](std::size_t i) { return values[i] - centre; };
  const MeanAndError whole = mean_and_error(count, centred);
  if (count < few) {
    const double half = t_quantile(1 - tail, static_cast<double>(count - 1)) * whole.error;
    return {centre - half, centre + half};
  }
  std::vector<double> studentised(resamples);
  parallel_for(resamples, 64, [&](std::size_t begin, std::size_t end) {
    for (std::size_t b = begin; b < end; ++b) {
      Generator random(stream_seed(seed, b));
      const MeanAndError drawn =
          mean_and_error(count, [&](std::size_t) { return centred(random.below(count)); });
      studentised[b] = drawn.error > 0 ? drawn.mean / drawn.error : 0;
    }
  });
  const auto [low, high] = central_interval(studentised, tail);
  return {centre - high * whole.error, centre - low * whole.error};
}

}  // namespace mamelon::detail
