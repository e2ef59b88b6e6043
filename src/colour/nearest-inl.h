// The nearest of several candidates over tiles of colours; included once for every instruction set.
//
// A floor under ΔE00² that costs a seventh of it tells most candidates to be too far. The one with
// the lowest floor is measured first, then those whose floor lies below what it gave. What is
// measured is measured as everywhere else, so that nothing of this shows in the result.
//
// The floor, of colours with b* ≥ 0 (ΔE00² = L² + C² + H² + R_T·C·H in the terms of ISO/CIE
// 11664-6):
// - S_L ≤ 1 + 0.015 |L̄ − 50|, since u²/√(20 + u²) ≤ u.
// - G lies in 0…½: C' ≤ √((1.5 a)² + b²), the reach of a colour, and C̄' at most half the sum of
//   the two reaches.
// - h̄ lies in 0…180°, where T < 1.39 and |R_T| < 1e-5.
// - ΔC'² + ΔH'² = Δa'² + Δb² ≥ Δa² + Δb².
// - ΔH'² = 2 (a1'b2 − a2'b1)²/(C1'C2' + a1'a2' + b1b2). With s = 1 + G ≥ 1 and b1b2 ≥ 0 the
//   numerator is s² times that of the plain a, the denominator at most s² times: ΔH'² is at least
//   what it is without G, Δa² + Δb² − ΔC².
// So with weights w_C ≤ w_H below 1/S_C² and 1/S_H² the chromatic terms together are at least
// w_C (Δa² + Δb²) + (w_H − w_C)(Δa² + Δb² − ΔC²). Weights are tangents of 1/x², which lie below it.
// Where only the candidate has b* ≥ 0, its hue h in 0…180°, the mean hue lies beyond h + 90° or
// h + 270°, so that it stays at least min(h − 5°, 185° − h) from 275° and |R_T|/2 below the sine of
// 60°·exp(−(that/25°)²). The chromatic terms together are then at least 1 − |R_T|/2 of C² + H²,
// which is at least w_C (Δa² + Δb²). Where the candidate's b* is negative only the lightness term
// stays.

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <cstring>
#include <limits>
#include <vector>

#include "colour/batch_kernels.h"
#include "hwy/highway.h"

#if defined(MAMELON_COLOUR_NEAREST_INL_H_) == defined(HWY_TARGET_TOGGLE)
#ifdef MAMELON_COLOUR_NEAREST_INL_H_
#undef MAMELON_COLOUR_NEAREST_INL_H_
#else
#define MAMELON_COLOUR_NEAREST_INL_H_
#endif

#include "colour/lab_tile-inl.h"

HWY_BEFORE_NAMESPACE();
namespace mamelon::detail {
namespace HWY_NAMESPACE {
namespace hn = hwy::HWY_NAMESPACE;

// A weight below 1/x² as a line over what x grows with.
template <class T>
struct WeightLine {
  T at_0 = 0;
  T slope = 0;

  // x = base + growth·v; the line touches at x = touch.
  static WeightLine tangent(double base, double growth, double touch, double factor) {
    const double cube = touch * touch * touch;
    return {static_cast<T>(factor * (3 * touch - 2 * base) / cube),
            static_cast<T>(factor * -2 * growth / cube)};
  }
  template <class D>
  HWY_INLINE hn::Vec<D> at(D d, hn::Vec<D> v) const {
    return multiply_add(d, v, hn::Set(d, slope), hn::Set(d, at_0));
  }
};

// The higher of two lines over the reach of the other colour: one touches where that is as far as
// the candidate's own, one at a strong colour's.
template <class T>
struct ReachWeight {
  WeightLine<T> near;
  WeightLine<T> far;

  // x = 1 + growth·(the two reaches).
  static ReachWeight below(double growth, double own_reach, double factor) {
    constexpr double strong = 100;
    const double base = 1 + growth * own_reach;
    return {WeightLine<T>::tangent(base, growth, base + growth * own_reach, factor),
            WeightLine<T>::tangent(base, growth, base + growth * strong, factor)};
  }
  template <class D>
  HWY_INLINE hn::Vec<D> at(D d, hn::Vec<D> reach) const {
    return hn::Max(near.at(d, reach), far.at(d, reach));
  }
};

template <class T>
struct Candidate {
  One<T> colour;
  WeightLine<T> lightness;  // over |L1 + L2 − 100|
  ReachWeight<T> chroma;    // over the other colour's reach, less what rotation may take
  ReachWeight<T> hue;
};

// Least part of C² + H² that R_T·C·H leaves, whatever the other colour.
template <class T>
double least_without_rotation(const One<T>& colour) {
  constexpr double degree = 3.14159265358979323846 / 180;
  double gap = 180;
  // a' lies between a and 1.5 a, and the hue between those of the two.
  for (const double scale : {1.0, 1.5}) {
    const double hue =
        std::atan2(static_cast<double>(colour.b), scale * static_cast<double>(colour.a)) / degree;
    gap = std::min({gap, hue - 5, 185 - hue});
  }
  const double steps = std::max(gap, 0.0) / 25;
  return 1 - std::sin(60 * degree * std::exp(-steps * steps));
}

template <class T>
std::vector<Candidate<T>> candidates_of(const LabRows<T>& rows, const Weighting<T>& weighting) {
  constexpr double of_chroma = 0.0225;
  constexpr double of_hue = 0.0075 * 1.39;
  const double kl = static_cast<double>(weighting.kl);
  const double kh = static_cast<double>(weighting.kh);
  // The floor needs w_C ≤ w_H.
  const double kc = std::max(static_cast<double>(weighting.kc), kh);
  std::vector<Candidate<T>> candidates;
  for (const One<T>& colour : single_colours(rows, 0, rows.size())) {
    Candidate<T>& c = candidates.emplace_back();
    c.colour = colour;
    const double away = std::abs(static_cast<double>(colour.l) - 50);
    c.lightness = WeightLine<T>::tangent(1, 0.0075, 1 + 0.015 * away, 1 / (kl * kl));
    if (!(colour.b >= 0)) continue;
    const double reach = std::hypot(1.5 * static_cast<double>(colour.a), colour.b);
    c.chroma = ReachWeight<T>::below(of_chroma, reach, least_without_rotation(colour) / (kc * kc));
    c.hue = ReachWeight<T>::below(of_hue, reach, 1 / (kh * kh));
  }
  return candidates;
}

// Candidates whose floors are kept at once.
inline constexpr std::size_t floors_kept = 32;

// Pairs that may wait to be measured.
template <class T>
inline constexpr std::size_t most_pairs = 6 * tile_size<T>;
static_assert(tile_size<float> <= 256, "a place in a tile fits a byte");

template <class T>
struct NearestWork {
  using Bits = hwy::MakeUnsigned<T>;
  Work<T> work;
  Column<T> reach, reach_of_hue, least;
  Column<T> floors[floors_kept];
  Column<Bits> guess;
  Column<T> best, too_far;  // ΔE00² so far, and the floor from which on a candidate is out
  Bits index[tile_size<T>];
  // Pairs still to be measured: places in the tile, and candidates counted from the first whose
  // floors are kept. Then the two colours of some of them, and what was measured.
  std::uint8_t pixel[most_pairs<T> + 8], candidate[most_pairs<T> + 8];
  std::size_t pairs = 0;
  Column<T> l1, a1, b1, chroma1, l2, a2, b2, chroma2, measured;

  HWY_INLINE Many<T> first() const { return {l1.values, a1.values, b1.values, chroma1.values}; }
  HWY_INLINE Many<T> second() const { return {l2.values, a2.values, b2.values, chroma2.values}; }
  HWY_INLINE void set_second(std::size_t k, const One<T>& colour) {
    l2.values[k] = colour.l;
    a2.values[k] = colour.a;
    b2.values[k] = colour.b;
    chroma2.values[k] = colour.chroma;
  }
};

// The floor from which on a candidate is out. Both it and what is measured are rounded: the margin
// is a thousandth of a unit or more of ΔE00, where rounding makes less than a ten-thousandth.
template <class T>
HWY_INLINE void margin_pass(NearestWork<T>& work, std::size_t whole) {
  const hn::ScalableTag<T> d;
  for (std::size_t i = 0; i < whole; i += hn::Lanes(d)) {
    const auto best = hn::Load(d, work.best.values + i);
    hn::Store(multiply_add(d, best, constant(d, 1.01), constant(d, 1e-4)), d,
              work.too_far.values + i);
  }
}

template <class T>
HWY_INLINE void reach_pass(const Many<T>& colours, NearestWork<T>& work, std::size_t whole) {
  const hn::ScalableTag<T> d;
  // So far that the line of the hue's weight has fallen below 0, which leaves w_C alone.
  const auto beyond = constant(d, 1e9);
  for (std::size_t i = 0; i < whole; i += hn::Lanes(d)) {
    const auto a = hn::Mul(hn::LoadU(d, colours.a + i), constant(d, 1.5));
    const auto b = hn::LoadU(d, colours.b + i);
    const auto reach = hn::Sqrt(multiply_add(d, a, a, hn::Mul(b, b)));
    hn::Store(reach, d, work.reach.values + i);
    hn::Store(hn::IfThenElse(hn::Ge(b, hn::Zero(d)), reach, beyond), d,
              work.reach_of_hue.values + i);
  }
}

// Floors of one candidate; `least` and `guess` follow the lowest of each colour.
template <class T>
HWY_INLINE void floor_pass(const Many<T>& colours, const Candidate<T>& candidate, std::size_t j,
                           NearestWork<T>& work, T* HWY_RESTRICT floors, std::size_t whole) {
  using Bits = typename NearestWork<T>::Bits;
  const hn::ScalableTag<T> d;
  using V = hn::Vec<decltype(d)>;
  const hn::RebindToUnsigned<decltype(d)> bits;
  const One<T>& to = candidate.colour;
  const V zero = hn::Zero(d);
  for (std::size_t i = 0; i < whole; i += hn::Lanes(d)) {
    const V l = hn::LoadU(d, colours.l + i);
    const V reach = hn::Load(d, work.reach.values + i);
    const V dl = hn::Sub(l, hn::Set(d, to.l));
    const V da = hn::Sub(hn::LoadU(d, colours.a + i), hn::Set(d, to.a));
    const V db = hn::Sub(hn::LoadU(d, colours.b + i), hn::Set(d, to.b));
    const V dc = hn::Sub(hn::LoadU(d, colours.chroma + i), hn::Set(d, to.chroma));
    const V away = hn::Abs(hn::Add(l, hn::Set(d, to.l - 100)));
    const V wl = hn::Max(candidate.lightness.at(d, away), zero);
    const V wc = hn::Max(candidate.chroma.at(d, reach), zero);
    const V wh = hn::Max(candidate.hue.at(d, hn::Load(d, work.reach_of_hue.values + i)), wc);
    const V ab = multiply_add(d, da, da, hn::Mul(db, db));
    const V hue = hn::Mul(hn::Sub(wh, wc), hn::Sub(ab, hn::Mul(dc, dc)));
    const V floor = multiply_add(d, hn::Mul(wl, dl), dl, multiply_add(d, wc, ab, hue));
    hn::Store(floor, d, floors + i);
    const V least = hn::Load(d, work.least.values + i);
    const auto lower = hn::Lt(floor, least);
    hn::Store(hn::IfThenElse(lower, floor, least), d, work.least.values + i);
    const auto known = hn::Load(bits, work.guess.values + i);
    hn::Store(
        hn::IfThenElse(hn::RebindMask(bits, lower), hn::Set(bits, static_cast<Bits>(j)), known),
        bits, work.guess.values + i);
  }
}

// Measures every colour against its guess, whose floor is raised so that it is not measured again.
template <class T>
HWY_INLINE void guess_pass(const Many<T>& colours, const std::vector<Candidate<T>>& candidates,
                           const Weighting<T>& weighting, NearestWork<T>& work, std::size_t whole) {
  using Bits = typename NearestWork<T>::Bits;
  const hn::ScalableTag<T> d;
  const hn::RebindToUnsigned<decltype(d)> bits;
  constexpr T infinity = std::numeric_limits<T>::infinity();
  for (std::size_t i = 0; i < whole; ++i) {
    const auto j = static_cast<std::size_t>(work.guess.values[i]);
    work.set_second(i, candidates[j].colour);
    work.floors[j].values[i] = infinity;
  }
  const auto take = [&](std::size_t i, auto now) HWY_ATTR {
    const auto none = hn::Set(d, infinity);
    const auto found = hn::Lt(now, none);
    const auto best = hn::IfThenElse(found, now, none);
    hn::Store(best, d, work.best.values + i);
    const auto guess = hn::Load(bits, work.guess.values + i);
    const auto nobody = hn::Set(bits, static_cast<Bits>(no_nearest));
    hn::StoreU(hn::IfThenElse(hn::RebindMask(bits, found), guess, nobody), bits, work.index + i);
  };
  difference_pass<true, T>(colours, work.second(), weighting, work.work, whole, take);
}

// Measures the pairs that wait, their candidates counted from the first kept. Of equally near
// candidates the first in their order stays.
template <class T>
HWY_INLINE void measure_pairs(const Many<T>& colours, const std::vector<Candidate<T>>& candidates,
                              std::size_t first_candidate, const Weighting<T>& weighting,
                              NearestWork<T>& work) {
  using Bits = typename NearestWork<T>::Bits;
  const hn::ScalableTag<T> d;
  constexpr T infinity = std::numeric_limits<T>::infinity();
  const auto take = [&](std::size_t k, auto now)
                        HWY_ATTR { hn::Store(now, d, work.measured.values + k); };
  for (std::size_t first = 0; first < work.pairs; first += tile_size<T>) {
    const std::size_t count = std::min(tile_size<T>, work.pairs - first);
    const std::size_t whole = whole_vectors<T>(count);
    const std::uint8_t* pixel = work.pixel + first;
    const std::uint8_t* candidate = work.candidate + first;
    for (std::size_t k = 0; k < whole; ++k) {
      // The last vector is filled up with the first pair.
      const std::size_t from = k < count ? k : 0;
      const std::size_t i = pixel[from];
      work.l1.values[k] = colours.l[i];
      work.a1.values[k] = colours.a[i];
      work.b1.values[k] = colours.b[i];
      work.chroma1.values[k] = colours.chroma[i];
      work.set_second(k, candidates[first_candidate + candidate[from]].colour);
    }
    difference_pass<true, T>(work.first(), work.second(), weighting, work.work, whole, take);
    // Without a branch: which pair is nearer than the guess is a matter of chance.
    for (std::size_t k = 0; k < count; ++k) {
      const T now = work.measured.values[k];
      const std::size_t i = pixel[k];
      const T best = work.best.values[i];
      const auto j = static_cast<Bits>(first_candidate + candidate[k]);
      const Bits before = work.index[i];
      const auto nearer = static_cast<Bits>(now < best);
      const Bits earlier = static_cast<Bits>(now == best) & static_cast<Bits>(now < infinity) &
                           static_cast<Bits>(j < before);
      work.best.values[i] = now < best ? now : best;
      work.index[i] = before ^ ((before ^ j) & (Bits{0} - (nearer | earlier)));
    }
  }
  work.pairs = 0;
}

// For every set of eight lanes the lanes that are in it, in order.
inline constexpr auto lanes_in = [] {
  std::array<std::array<std::uint8_t, 8>, 256> table{};
  for (std::size_t set = 0; set < table.size(); ++set) {
    std::size_t count = 0;
    for (std::uint8_t lane = 0; lane < 8; ++lane) {
      if ((set >> lane & 1U) != 0) table[set][count++] = lane;
    }
  }
  return table;
}();

// Lists the colours that a candidate's floors leave open: those not above what is too far, or not
// numbers. Without a branch: whether a lane is open is a matter of chance.
template <class T>
HWY_INLINE void list_open(std::size_t candidate, std::size_t whole, NearestWork<T>& work) {
  constexpr std::uint64_t each_byte = 0x0101010101010101;
  const hn::ScalableTag<T> d;
  const std::size_t lanes = hn::Lanes(d);
  const T* floors = work.floors[candidate].values;
  const std::uint64_t candidates = each_byte * candidate;
  std::size_t pairs = work.pairs;
  for (std::size_t i = 0; i < whole; i += lanes) {
    const auto open =
        hn::Not(hn::Gt(hn::Load(d, floors + i), hn::Load(d, work.too_far.values + i)));
    std::array<std::uint8_t, 8> sets{};
    hn::StoreMaskBits(d, open, sets.data());
    for (std::size_t part = 0; part < lanes; part += 8) {
      const std::uint8_t set = sets[part / 8];
      // Places in a tile and candidates kept fit a byte: eight are moved at once.
      std::uint64_t places = 0;
      std::memcpy(&places, lanes_in[set].data(), sizeof(places));
      places += each_byte * (i + part);
      std::memcpy(work.pixel + pairs, &places, sizeof(places));
      std::memcpy(work.candidate + pairs, &candidates, sizeof(candidates));
      pairs += static_cast<std::size_t>(std::popcount(set));
    }
  }
  work.pairs = pairs;
}

// Measures a whole tile against one candidate, where most of it is open.
template <class T>
HWY_INLINE void measure_all(const Many<T>& colours, const One<T>& candidate, std::size_t j,
                            const Weighting<T>& weighting, NearestWork<T>& work,
                            std::size_t whole) {
  using Bits = typename NearestWork<T>::Bits;
  const hn::ScalableTag<T> d;
  const hn::RebindToUnsigned<decltype(d)> bits;
  const auto take = [&](std::size_t i, auto now) HWY_ATTR {
    const auto own = hn::Set(bits, static_cast<Bits>(j));
    const auto best = hn::Load(d, work.best.values + i);
    const auto index = hn::LoadU(bits, work.index + i);
    const auto finite = hn::Lt(now, hn::Set(d, std::numeric_limits<T>::infinity()));
    const auto equal = hn::And(finite, hn::Eq(now, best));
    const auto earlier = hn::And(hn::RebindMask(bits, equal), hn::Lt(own, index));
    const auto nearer = hn::Lt(now, best);
    hn::Store(hn::IfThenElse(nearer, now, best), d, work.best.values + i);
    const auto taken = hn::Or(earlier, hn::RebindMask(bits, nearer));
    hn::StoreU(hn::IfThenElse(taken, own, index), bits, work.index + i);
  };
  difference_pass<true, T>(colours, candidate, weighting, work.work, whole, take);
}

// Measures what candidates [first, end) leave open, their floors being known.
template <class T>
HWY_INLINE void near_pass(const Many<T>& colours, const std::vector<Candidate<T>>& candidates,
                          std::size_t first, std::size_t end, const Weighting<T>& weighting,
                          NearestWork<T>& work, std::size_t whole) {
  for (std::size_t j = first; j < end; ++j) {
    const std::size_t before = work.pairs;
    list_open(j - first, whole, work);
    // A pair from the list costs about three of a tile's.
    if (3 * (work.pairs - before) > whole) {
      work.pairs = before;
      measure_all(colours, candidates[j].colour, j, weighting, work, whole);
    }
    if (work.pairs + whole > most_pairs<T> || j + 1 == end) {
      measure_pairs(colours, candidates, first, weighting, work);
    }
  }
}

// The nearest candidate of each colour of a tile, found by ΔE².
template <class T>
HWY_INLINE void nearest_tile(const Many<T>& colours, const std::vector<Candidate<T>>& candidates,
                             const Weighting<T>& weighting, bool squared, NearestWork<T>& work,
                             std::size_t count, std::uint32_t* index, T* de) {
  using Bits = typename NearestWork<T>::Bits;
  const hn::ScalableTag<T> d;
  const std::size_t whole = whole_vectors<T>(count);
  reach_pass(colours, work, whole);
  std::fill_n(work.least.values, whole, std::numeric_limits<T>::infinity());
  std::fill_n(work.guess.values, whole, Bits{0});
  for (std::size_t first = 0; first < candidates.size(); first += floors_kept) {
    const std::size_t end = std::min(first + floors_kept, candidates.size());
    for (std::size_t j = first; j < end; ++j) {
      floor_pass(colours, candidates[j], j, work, work.floors[j - first].values, whole);
    }
    if (first == 0) {
      guess_pass(colours, candidates, weighting, work, whole);
      // The guess is measured and stays; only floors of the first candidates could change it.
      std::fill_n(work.least.values, whole, -std::numeric_limits<T>::infinity());
    }
    margin_pass(work, whole);
    near_pass(colours, candidates, first, end, weighting, work, whole);
  }
  for (std::size_t i = 0; i < whole; i += hn::Lanes(d)) {
    const auto best = hn::Load(d, work.best.values + i);
    const auto none = hn::Eq(best, hn::Set(d, std::numeric_limits<T>::infinity()));
    const auto value = squared ? best : hn::Sqrt(best);
    hn::Store(hn::IfThenElse(none, hn::Set(d, std::numeric_limits<T>::quiet_NaN()), value), d,
              work.measured.values + i);
  }
  for (std::size_t i = 0; i < count; ++i) index[i] = static_cast<std::uint32_t>(work.index[i]);
  std::copy_n(work.measured.values, count, de);
}

}  // namespace HWY_NAMESPACE
}  // namespace mamelon::detail
HWY_AFTER_NAMESPACE();

#endif
