// CIEDE2000 over tiles of pairs; included once for every instruction set.
//
// No transcendental function is needed. With the hues as directions (a', b)/C', the mean hue is the
// bisector of the two, found by one inverse square root; T is a polynomial in its cosine and sine;
// and the rotation term, a function of 1 − cos(h̄ − 275°), is skipped where it vanishes. A tile goes
// through short passes rather than one long loop, which would wait for its own results.

#include <algorithm>
#include <cstddef>
#include <cstdint>

#include "colour/batch_kernels.h"
#include "hwy/highway.h"

#if defined(MAMELON_COLOUR_DIFFERENCE_INL_H_) == defined(HWY_TARGET_TOGGLE)
#ifdef MAMELON_COLOUR_DIFFERENCE_INL_H_
#undef MAMELON_COLOUR_DIFFERENCE_INL_H_
#else
#define MAMELON_COLOUR_DIFFERENCE_INL_H_
#endif

#include "colour/vector_math-inl.h"

HWY_BEFORE_NAMESPACE();
namespace mamelon::detail {
namespace HWY_NAMESPACE {
namespace hn = hwy::HWY_NAMESPACE;

// Pairs worked on at once: all arrays of a tile stay in the nearest cache, beside those of the
template <class T>
inline constexpr std::size_t tile_size = 512 / sizeof(T);

template <class T>
struct alignas(64) Column {
  T values[tile_size<T>];
};

// A colour a pair, or one colour for all pairs: `at(d, column, i)` gives a vector of either.
template <class T>
struct Many {
  const T* l;
  const T* a;
  const T* b;
  const T* chroma;
  template <class D>
  HWY_INLINE static hn::Vec<D> at(D d, const T* column, std::size_t i) {
    return hn::LoadU(d, column + i);
  }
};
template <class T>
struct One {
  T l;
  T a;
  T b;
  T chroma;
  template <class D>
  HWY_INLINE static hn::Vec<D> at(D d, T value, std::size_t) {
    return hn::Set(d, value);
  }
};

// What one pass leaves for the next.
template <class T>
struct Work {
  Column<T> scale, chroma1, chroma2, wl, dh2, t, rotation;
};

template <class T>
struct Weighting {
  T kl, kc, kh;
};

template <class T>
HWY_INLINE void chroma_pass(const T* HWY_RESTRICT a, const T* HWY_RESTRICT b,
                            T* HWY_RESTRICT chroma, std::size_t count) {
  const hn::ScalableTag<T> d;
  for (std::size_t i = 0; i < count; i += hn::Lanes(d)) {
    const auto va = hn::LoadU(d, a + i);
    const auto vb = hn::LoadU(d, b + i);
    hn::Store(hn::Sqrt(multiply_add(d, va, va, hn::Mul(vb, vb))), d, chroma + i);
  }
}

// √(x⁷/(x⁷ + 1)) with x = C̄/25.
template <class D, class V = hn::Vec<D>>
HWY_INLINE V seventh_power_ratio(D d, V x) {
  const V x2 = hn::Mul(x, x);
  const V x7 = hn::Mul(hn::Mul(hn::Mul(x2, x2), x2), x);
  return hn::Mul(
      x7, inverse_sqrt(
              d, multiply_add(d, x7, x7, hn::Add(x7, constant(d, above_zero<hn::TFromD<D>>)))));
}

// The scale 1 + G of a', the chromas C' and the lightness weight. The last has no part in the
// others: it fills the time in which the square roots keep the divider busy.
template <class T, class Ref, class Smp>
HWY_INLINE void chroma_and_lightness_pass(const Ref& ref, const Smp& smp, T kl, Work<T>& work,
                                          std::size_t count) {
  const hn::ScalableTag<T> d;
  using V = hn::Vec<decltype(d)>;
  const V weight_l = hn::Set(d, kl);
  const V weight_l015 = hn::Mul(weight_l, constant(d, 0.015));
  for (std::size_t i = 0; i < count; i += hn::Lanes(d)) {
    const V sum = hn::Add(Ref::at(d, ref.chroma, i), Smp::at(d, smp.chroma, i));
    const V ratio = seventh_power_ratio(d, hn::Mul(sum, constant(d, 0.02)));
    const V scale = hn::Sub(constant(d, 1.5), hn::Mul(ratio, constant(d, 0.5)));
    const V a1 = hn::Mul(scale, Ref::at(d, ref.a, i));
    const V a2 = hn::Mul(scale, Smp::at(d, smp.a, i));
    const V b1 = Ref::at(d, ref.b, i);
    const V b2 = Smp::at(d, smp.b, i);
    hn::Store(scale, d, work.scale.values + i);
    hn::Store(hn::Sqrt(multiply_add(d, a1, a1, hn::Mul(b1, b1))), d, work.chroma1.values + i);
    hn::Store(hn::Sqrt(multiply_add(d, a2, a2, hn::Mul(b2, b2))), d, work.chroma2.values + i);

    const V lightness = hn::Add(Ref::at(d, ref.l, i), Smp::at(d, smp.l, i));
    const V from_50 = multiply_add(d, lightness, constant(d, 0.5), constant(d, -50));
    const V l50 = hn::Mul(from_50, from_50);
    hn::Store(multiply_add(d, hn::Mul(weight_l015, l50),
                           inverse_sqrt(d, hn::Add(l50, constant(d, 20))), weight_l),
              d, work.wl.values + i);
  }
}

// scalar(a1, b1, a2, b2) in the lanes of `where`, `otherwise` in the others.
template <class D, class V = hn::Vec<D>, class M, class Scalar>
HWY_INLINE V lane_by_lane(D d, M where, V otherwise, V a1, V b1, V a2, V b2, const Scalar& scalar) {
  using T = hn::TFromD<D>;
  constexpr std::size_t most = HWY_MAX_BYTES / sizeof(T);
  alignas(64) T lanes[5][most];
  hn::Store(a1, d, lanes[0]);
  hn::Store(b1, d, lanes[1]);
  hn::Store(a2, d, lanes[2]);
  hn::Store(b2, d, lanes[3]);
  for (std::size_t i = 0; i < hn::Lanes(d); ++i) {
    lanes[4][i] = scalar(lanes[0][i], lanes[1][i], lanes[2][i], lanes[3][i]);
  }
  return hn::IfThenElse(where, hn::Load(d, lanes[4]), otherwise);
}

// Which way round hue 2 is nearer to hue 1, as ±1 in the lanes of opposite hues whose products
// a1 b2 and a2 b1 round to the same; the other lanes of `turn` are kept.
template <class D, class V = hn::Vec<D>, class M>
HWY_NOINLINE V turn_of_opposite(D d, M opposite, V turn, V a1, V b1, V a2, V b2) {
  using T = hn::TFromD<D>;
  return lane_by_lane(d, opposite, turn, a1, b1, a2, b2,
                      [](T p, T q, T r, T s) { return opposite_turn(p, q, r, s); });
}

// a1 b2 + a2 b1 with the right sign even where the two products round to opposite values; elsewhere
// `sum` is kept.
template <class D, class V = hn::Vec<D>, class M>
HWY_NOINLINE V exact_sign_of_sum(D d, M cancelled, V sum, V a1, V b1, V a2, V b2) {
  using T = hn::TFromD<D>;
  return lane_by_lane(d, cancelled, sum, a1, b1, a2, b2,
                      [](T p, T q, T r, T s) { return rounding_error_of_sum(p, q, r, s); });
}

// R_T·ΔC'·ΔH' in the lanes where 1 − cos(h̄ − 275°) = k is below `limit`, else 0.
template <class T>
struct Rotation;
template <>
struct Rotation<float> {
  static constexpr double limit = 1.25;  // from there on exp(−((h̄ − 275°)/25°)²) < 3e-8
  // exp(−((h̄ − 275°)/25°)²/8) in k: error of its eighth power 7e-8
  static constexpr double bell[] = {0.999999991462978255, -1.31312089259118434,
                                    0.643248145867040703, -0.147995376586080295,
                                    0.0159900754784123537};
  // sin(60°·e)/e in e²: error 3e-8
  static constexpr double sine[] = {1.0471975193867293, -0.191395749275884752,
                                    0.0104893854338811575, -0.000265783554298147562};
};
template <>
struct Rotation<double> {
  static constexpr double limit = 1.75;  // < 5e-14
  // error 1.5e-15
  static constexpr double bell[] = {
      0.999999999999999818,   -1.31312254000459668,    0.643291645857845108,
      -0.148346720918473412,  0.0170234212303258161,   -0.000973766511095983509,
      2.70133193407144657e-5, 3.87104954260813988e-7,  -1.93044883217470752e-6,
      2.73664952399561224e-6, -2.54592499843442061e-6, 1.31082587763765338e-6,
      -3.12082553495423653e-7};
  // error 2e-16
  static constexpr double sine[] = {1.04719755119659756,    -0.191396769631462377,
                                    0.0104945022214294106,  -0.000274012128732659664,
                                    4.17343846242491287e-6, -4.15990330996635796e-8,
                                    2.87177568579965513e-10};
};
template <class D, class V = hn::Vec<D>, class M>
HWY_INLINE V rotation(D d, M near_blue, V k, V c1, V c2, V dh2, V turn) {
  using Fit = Rotation<hn::TFromD<D>>;
  V bell = polynomial(d, k, Fit::bell);
  bell = hn::Mul(bell, bell);
  bell = hn::Mul(bell, bell);
  bell = hn::Mul(bell, bell);
  const V sine = hn::Mul(bell, polynomial(d, hn::Mul(bell, bell), Fit::sine));
  const V chroma = seventh_power_ratio(d, hn::Mul(hn::Add(c1, c2), constant(d, 0.02)));
  const V dh = hn::CopySign(hn::Sqrt(dh2), turn);
  const V term =
      hn::Mul(hn::Mul(constant(d, -2), hn::Mul(chroma, sine)), hn::Mul(hn::Sub(c2, c1), dh));
  return hn::IfThenElseZero(near_blue, term);
}

// T from the cosine and sine of the mean hue.
template <class D, class V = hn::Vec<D>>
HWY_INLINE V hue_weight(D d, V cosine, V sine) {
  constexpr double cos30 = 0.86602540378443864676;
  constexpr double cos6 = 0.99452189536827333692;
  constexpr double sin6 = 0.10452846326765347140;
  constexpr double cos63 = 0.45399049973954679156;
  constexpr double sin63 = 0.89100652418836786236;
  const V twice = hn::Add(cosine, cosine);
  const V cos2 = hn::Sub(hn::Mul(twice, cosine), constant(d, 1));
  const V sin2 = hn::Mul(twice, sine);
  const V even = multiply_add(d, cos2, constant(d, -0.4 * cos63),
                              multiply_add(d, sin2, constant(d, -0.4 * sin63), constant(d, 0.24)));
  const V of_cosine =
      multiply_add(d, cos2, constant(d, 0.32 * cos6),
                   multiply_add(d, sin2, constant(d, -0.32 * sin6), constant(d, -0.17 * cos30)));
  const V of_sine =
      multiply_add(d, cos2, constant(d, -0.32 * sin6),
                   multiply_add(d, sin2, constant(d, -0.32 * cos6), constant(d, -0.17 * 0.5)));
  const V sum = multiply_add(d, cos2, even, constant(d, 1 + 0.2 * cos63));
  return multiply_add(d, sine, of_sine, multiply_add(d, cosine, of_cosine, sum));
}

// The hue's terms. True when the rotation term has a part in the tile: only then is it set.
template <class T, class Ref, class Smp>
HWY_INLINE bool hue_pass(const Ref& ref, const Smp& smp, Work<T>& work, std::size_t count) {
  constexpr double cos275 = 0.087155742747658173558;
  constexpr double sin275 = -0.99619469809174553230;
  const hn::ScalableTag<T> d;
  using V = hn::Vec<decltype(d)>;
  bool rotated = false;
  for (std::size_t i = 0; i < count; i += hn::Lanes(d)) {
    const V a1 = Ref::at(d, ref.a, i);
    const V a2 = Smp::at(d, smp.a, i);
    const V b1 = Ref::at(d, ref.b, i);
    const V b2 = Smp::at(d, smp.b, i);
    const V scale = hn::Load(d, work.scale.values + i);
    const V c1 = hn::Load(d, work.chroma1.values + i);
    const V c2 = hn::Load(d, work.chroma2.values + i);
    const V s1 = hn::Mul(scale, a1);
    const V s2 = hn::Mul(scale, a2);

    // Not fused: equal colours must give 0, and swapped colours the same with the other sign.
    const V a1b2 = hn::Mul(a1, b2);
    const V a2b1 = hn::Mul(a2, b1);
    V turn = hn::Sub(a1b2, a2b1);
    const V cross = hn::Mul(scale, turn);
    const V product = hn::Mul(c1, c2);
    // The added 0 turns −0 into 0, whose sign bit agrees with the comparison.
    const V dot = hn::Add(multiply_add(d, s1, s2, hn::Mul(b1, b2)), hn::Zero(d));
    const auto beyond_90 = hn::Lt(dot, hn::Zero(d));
    const auto opposite = hn::And(beyond_90, hn::Eq(a1b2, a2b1));
    if (HWY_UNLIKELY(!hn::AllFalse(d, opposite))) {
      turn = turn_of_opposite(d, opposite, turn, a1, b1, a2, b2);
    }

    // Within 90° the sum of the two directions is the bisector, beyond 90° their difference turned
    // by a quarter: whichever is the longer, |sum|² = 2 (C1'C2' ± dot)/(C1'C2').
    const V longer = hn::Add(product, hn::Abs(dot));
    const V inverse = inverse_sqrt_by_divider(
        d, multiply_add(d, hn::Add(product, product), longer, constant(d, above_zero<T>)));
    const V sign = hn::And(dot, hn::SignBit(d));
    const V along = hn::Xor(c1, sign);
    const V x = hn::Mul(inverse, hn::Add(hn::Mul(c2, s1), hn::Mul(along, s2)));
    const V y = hn::Mul(inverse, hn::Add(hn::Mul(c2, b1), hn::Mul(along, b2)));
    const V turn_sign = hn::And(turn, hn::SignBit(d));
    const V cosine = hn::IfThenElse(beyond_90, hn::Xor(hn::Neg(y), turn_sign), x);
    const V sine = hn::IfThenElse(beyond_90, hn::Xor(x, turn_sign), y);
    const V half = hn::Mul(cross, inverse);
    const V twice_product = hn::Add(product, product);
    const V dh2 =
        hn::IfThenElse(beyond_90, hn::Add(longer, longer),
                       hn::Mul(hn::Add(twice_product, twice_product), hn::Mul(half, half)));

    const V k = hn::Sub(constant(d, 1), multiply_add(d, cosine, constant(d, cos275),
                                                     hn::Mul(sine, constant(d, sin275))));
    // Well inside the first quadrant the mean hue cannot be near blue; its edge is looked at below.
    const auto near_blue = hn::And(hn::Lt(k, constant(d, Rotation<T>::limit)),
                                   hn::Lt(hn::Min(cosine, sine), constant(d, 1e-3)));
    if (!hn::AllFalse(d, near_blue)) {
      if (!rotated) std::fill_n(work.rotation.values, count, T{0});
      rotated = true;
      // ISO/CIE 11664-6 counts h̄ from 0°, so a mean hue just above 0° is 275° away from blue, not
      // 85°. sin 2h̄ has the sign of a1 b2 + a2 b1.
      V sum = hn::Add(a1b2, a2b1);
      const auto right = hn::Gt(cosine, constant(d, 0.5));  // ±60°; `limit` leaves less
      const auto cancelled =
          hn::And(hn::And(right, hn::Eq(sum, hn::Zero(d))), hn::Ne(a1b2, hn::Zero(d)));
      if (HWY_UNLIKELY(!hn::AllFalse(d, cancelled))) {
        sum = exact_sign_of_sum(d, cancelled, sum, a1, b1, a2, b2);
      }
      const auto first_quadrant = hn::And(right, hn::Ge(sum, hn::Zero(d)));
      const V term = rotation(d, hn::AndNot(first_quadrant, near_blue), k, c1, c2, dh2, turn);
      hn::Store(term, d, work.rotation.values + i);
    }
    hn::Store(hue_weight(d, cosine, sine), d, work.t.values + i);
    hn::Store(dh2, d, work.dh2.values + i);
  }
  return rotated;
}

// The sum over one common denominator, so that one division serves the four terms. `take` gets each
// vector of results with its place.
template <bool squared, bool rotated, class T, class Ref, class Smp, class Take>
HWY_INLINE void sum_pass(const Ref& ref, const Smp& smp, const Weighting<T>& weighting,
                         const Work<T>& work, std::size_t count, const Take& take) {
  const hn::ScalableTag<T> d;
  using V = hn::Vec<decltype(d)>;
  const V kc = hn::Set(d, weighting.kc);
  const V kh = hn::Set(d, weighting.kh);
  const V slope_c = hn::Mul(kc, constant(d, 0.0225));  // of kC·SC against C1' + C2'
  const V slope_h = hn::Mul(kh, constant(d, 0.0075));
  for (std::size_t i = 0; i < count; i += hn::Lanes(d)) {
    const V l1 = Ref::at(d, ref.l, i);
    const V l2 = Smp::at(d, smp.l, i);
    const V c1 = hn::Load(d, work.chroma1.values + i);
    const V c2 = hn::Load(d, work.chroma2.values + i);
    const V wl = hn::Load(d, work.wl.values + i);
    const V dh2 = hn::Load(d, work.dh2.values + i);
    const V t = hn::Load(d, work.t.values + i);

    const V sum_c = hn::Add(c1, c2);
    const V wc = multiply_add(d, sum_c, slope_c, kc);
    const V wh = multiply_add(d, hn::Mul(sum_c, slope_h), t, kh);
    const V wch = hn::Mul(wc, wh);
    const V l = hn::Mul(hn::Sub(l2, l1), wch);
    const V c = hn::Mul(hn::Sub(c2, c1), hn::Mul(wl, wh));
    const V wlc = hn::Mul(wl, wc);
    const V denominator = hn::Mul(wl, wch);
    V sum = multiply_add(d, l, l, hn::Mul(c, c));
    sum = multiply_add(d, hn::Mul(dh2, wlc), wlc, sum);
    if constexpr (rotated) {
      const V term = hn::Load(d, work.rotation.values + i);
      sum = multiply_add(d, hn::Mul(term, wl), denominator, sum);
    }
    if constexpr (squared) {
      take(i, hn::Div(sum, hn::Mul(denominator, denominator)));
    } else {
      take(i, hn::Div(hn::Sqrt(sum), denominator));
    }
  }
}

// ΔE00, or ΔE00², of `count` pairs, a multiple of the vector's length.
template <bool squared, class T, class Ref, class Smp, class Take>
HWY_INLINE void difference_pass(const Ref& ref, const Smp& smp, const Weighting<T>& weighting,
                                Work<T>& work, std::size_t count, const Take& take) {
  chroma_and_lightness_pass<T>(ref, smp, weighting.kl, work, count);
  if (hue_pass<T>(ref, smp, work, count)) {
    sum_pass<squared, true, T>(ref, smp, weighting, work, count, take);
  } else {
    sum_pass<squared, false, T>(ref, smp, weighting, work, count, take);
  }
}

template <class T, class Ref, class Smp>
HWY_INLINE void difference_tile(const Ref& ref, const Smp& smp, const Weighting<T>& weighting,
                                bool squared, Work<T>& work, T* HWY_RESTRICT de,
                                std::size_t count) {
  const hn::ScalableTag<T> d;
  const auto store = [&d, de](std::size_t i, auto value) HWY_ATTR { hn::StoreU(value, d, de + i); };
  if (squared) {
    difference_pass<true, T>(ref, smp, weighting, work, count, store);
  } else {
    difference_pass<false, T>(ref, smp, weighting, work, count, store);
  }
}

}  // namespace HWY_NAMESPACE
}  // namespace mamelon::detail
HWY_AFTER_NAMESPACE();

#endif
