#include "shade/draw_loops.h"

#include <algorithm>

#undef HWY_TARGET_INCLUDE
#define HWY_TARGET_INCLUDE "shade/draw_loops.cpp"
#include "hwy/foreach_target.h"
#include "hwy/highway.h"

HWY_BEFORE_NAMESPACE();
namespace mamelon::detail {
namespace HWY_NAMESPACE {
namespace hn = hwy::HWY_NAMESPACE;

using Doubles = hn::ScalableTag<double>;

// Calls step(d, i) for whole vectors and then for the rest one value at a time: a lane computes the
// same bits whatever stands beside it.
template <class Step>
HWY_INLINE void for_draws(std::size_t count, const Step& step) {
  const Doubles d;
  const std::size_t lanes = hn::Lanes(d);
  std::size_t i = 0;
  for (; i + lanes <= count; i += lanes) step(d, i);
  const hn::CappedTag<double, 1> one;
  for (; i < count; ++i) step(one, i);
}

void linear_squares(const PairMetric& m, const Draws& of_reading, const Draws& of_tab,
                    double* squared, std::size_t count) {
  const double* rx = of_reading.x.data();
  const double* ry = of_reading.y.data();
  const double* rz = of_reading.z.data();
  const double* tx = of_tab.x.data();
  const double* ty = of_tab.y.data();
  const double* tz = of_tab.z.data();
  const double rotation = m.rotation;
  for_draws(count, [&](auto d, std::size_t i) HWY_ATTR {
    const auto x = hn::LoadU(d, rx + i);
    const auto y = hn::LoadU(d, ry + i);
    const auto z = hn::LoadU(d, rz + i);
    const auto u = hn::LoadU(d, tx + i);
    const auto v = hn::LoadU(d, ty + i);
    const auto w = hn::LoadU(d, tz + i);
    const auto times = [&](double factor, auto value)
                           HWY_ATTR { return hn::Mul(hn::Set(d, factor), value); };
    const auto part = [&](std::size_t k) HWY_ATTR {
      const auto& p = m.by_reading[k];
      const auto& q = m.by_tab[k];
      auto sum = hn::Add(hn::Set(d, m.w0[k]), times(p[0], x));
      sum = hn::Add(sum, times(p[1], y));
      sum = hn::Add(sum, times(p[2], z));
      sum = hn::Add(sum, times(q[0], u));
      sum = hn::Add(sum, times(q[1], v));
      return hn::Add(sum, times(q[2], w));
    };
    const auto l = part(0);
    const auto c = part(1);
    const auto h = part(2);
    const auto plain = hn::Add(hn::Add(hn::Mul(l, l), hn::Mul(c, c)), hn::Mul(h, h));
    hn::StoreU(hn::Add(plain, times(rotation, hn::Mul(c, h))), d, squared + i);
  });
}

// Adds the draws that each row wins; false, and no use, where two rows share a least value.
bool add_wins(const double* values, std::size_t rows, std::size_t draws, std::uint64_t* wins) {
  std::uint64_t all = 0;
  for_draws(draws, [&](auto d, std::size_t i) HWY_ATTR {
    auto least = hn::LoadU(d, values + i);
    for (std::size_t k = 1; k < rows; ++k)
      least = hn::Min(least, hn::LoadU(d, values + k * draws + i));
    for (std::size_t k = 0; k < rows; ++k) {
      const std::size_t hits =
          hn::CountTrue(d, hn::Eq(hn::LoadU(d, values + k * draws + i), least));
      wins[k] += hits;
      all += hits;
    }
  });
  return all == draws;
}

std::uint64_t count_at_most(const double* values, std::size_t count, double limit) {
  std::uint64_t hits = 0;
  for_draws(count, [&](auto d, std::size_t i) HWY_ATTR {
    hits += hn::CountTrue(d, hn::Le(hn::LoadU(d, values + i), hn::Set(d, limit)));
  });
  return hits;
}

std::size_t copy_bin(const double* values, std::size_t count, double from, double scale, double bin,
                     double* to) {
  static_assert(hn::MaxLanes(Doubles()) <= values_at_once);
  std::size_t copied = 0;
  for_draws(count, [&](auto d, std::size_t i) HWY_ATTR {
    const auto value = hn::LoadU(d, values + i);
    const auto place = hn::Mul(hn::Sub(value, hn::Set(d, from)), hn::Set(d, scale));
    const auto within = hn::And(hn::Ge(place, hn::Set(d, bin)), hn::Lt(place, hn::Set(d, bin + 1)));
    copied += hn::CompressStore(value, within, d, to + copied);
  });
  return copied;
}

void least_and_most(const double* values, std::size_t count, double* least, double* most) {
  const Doubles d;
  auto low = hn::Set(d, values[0]);
  auto high = low;
  const std::size_t lanes = hn::Lanes(d);
  std::size_t i = 0;
  for (; i + lanes <= count; i += lanes) {
    const auto v = hn::LoadU(d, values + i);
    low = hn::Min(low, v);
    high = hn::Max(high, v);
  }
  *least = hn::GetLane(hn::MinOfLanes(d, low));
  *most = hn::GetLane(hn::MaxOfLanes(d, high));
  for (; i < count; ++i) {
    *least = values[i] < *least ? values[i] : *least;
    *most = values[i] > *most ? values[i] : *most;
  }
}

}  // namespace HWY_NAMESPACE
}  // namespace mamelon::detail
HWY_AFTER_NAMESPACE();

#if HWY_ONCE
namespace mamelon::detail {

HWY_EXPORT(linear_squares);
HWY_EXPORT(add_wins);
HWY_EXPORT(count_at_most);
HWY_EXPORT(copy_bin);
HWY_EXPORT(least_and_most);

void linear_squares(const PairMetric& metric, const Draws& of_reading, const Draws& of_tab,
                    std::span<double> squared) {
  HWY_DYNAMIC_DISPATCH(linear_squares)
  (metric, of_reading, of_tab, squared.data(), squared.size());
}

std::vector<std::uint64_t> wins_without_ties(std::span<const double> values, std::size_t draws) {
  std::vector<std::uint64_t> wins(values.size() / draws, 0);
  if (!HWY_DYNAMIC_DISPATCH(add_wins)(values.data(), wins.size(), draws, wins.data())) wins.clear();
  return wins;
}

std::uint64_t count_at_most(std::span<const double> values, double limit) {
  return HWY_DYNAMIC_DISPATCH(count_at_most)(values.data(), values.size(), limit);
}

std::size_t copy_bin(std::span<const double> values, double from, double scale, double bin,
                     double* to) {
  return HWY_DYNAMIC_DISPATCH(copy_bin)(values.data(), values.size(), from, scale, bin, to);
}

std::pair<double, double> least_and_most(std::span<const double> values) {
  std::pair<double, double> found;
  HWY_DYNAMIC_DISPATCH(least_and_most)
  (values.data(), values.size(), &found.first, &found.second);
  return found;
}

}  // namespace mamelon::detail
#endif
