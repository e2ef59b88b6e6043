// Linear light to CIELAB over tiles of pixels; included once for every instruction set.

#include <array>
#include <cstddef>
#include <cstdint>

#include "colour/batch_kernels.h"
#include "hwy/highway.h"

#if defined(MAMELON_COLOUR_LAB_BATCH_INL_H_) == defined(HWY_TARGET_TOGGLE)
#ifdef MAMELON_COLOUR_LAB_BATCH_INL_H_
#undef MAMELON_COLOUR_LAB_BATCH_INL_H_
#else
#define MAMELON_COLOUR_LAB_BATCH_INL_H_
#endif

#include "colour/lab_tile-inl.h"

HWY_BEFORE_NAMESPACE();
namespace mamelon::detail {
namespace HWY_NAMESPACE {
namespace hn = hwy::HWY_NAMESPACE;

// Cube root of normal x > 0. The exponent divided by three gives it within 5 %; each step is
// Halley's, which raises the error to its third power.
template <class D, class V = hn::Vec<D>>
HWY_INLINE V cube_root(D d, V x) {
  using T = hn::TFromD<D>;
  V y;
  if constexpr (sizeof(T) == 4) {
    // A third of the bits, through float arithmetic: integers have no division.
    const hn::RebindToSigned<D> bits;
    const V third = hn::Mul(hn::ConvertTo(d, hn::BitCast(bits, x)), constant(d, 1.0 / 3));
    y = hn::BitCast(d, hn::Add(hn::ConvertTo(bits, third), hn::Set(bits, 0x2A514067)));
  } else {
    // The upper 32 bits suffice; as numbers below 2³¹ they become doubles by their bits alone.
    const hn::RebindToUnsigned<D> bits;
    const auto magic = hn::Set(bits, 0x4330000000000000ULL);
    const V offset = hn::BitCast(d, magic);
    const V high =
        hn::Sub(hn::BitCast(d, hn::Or(hn::ShiftRight<32>(hn::BitCast(bits, x)), magic)), offset);
    const V third =
        hn::Add(hn::Add(hn::Mul(high, constant(d, 1.0 / 3)), constant(d, 715094163.0)), offset);
    y = hn::BitCast(d, hn::ShiftLeft<32>(hn::BitCast(bits, third)));
  }
  constexpr int steps = sizeof(T) == 4 ? 2 : 3;
  for (int i = 0; i < steps; ++i) {
    const V y3 = hn::Mul(hn::Mul(y, y), y);
    const V sum = hn::Add(y3, x);
    y = multiply_add(d, y, hn::Div(hn::Sub(x, y3), hn::Add(sum, y3)), y);
  }
  return y;
}

// f of ISO/CIE 11664-4.
template <class D, class V = hn::Vec<D>>
HWY_INLINE V lab_function(D d, V t) {
  constexpr double threshold = 216.0 / 24389;
  const V line = multiply_add(d, t, constant(d, 24389.0 / 27 / 116), constant(d, 16.0 / 116));
  const auto small = hn::Le(t, constant(d, threshold));
  return hn::IfThenElse(small, line, cube_root(d, hn::IfThenElse(small, constant(d, 1), t)));
}

// Rows X/Xn, Y/Yn, Z/Zn of the conversion.
template <class D, class V = hn::Vec<D>>
HWY_INLINE void to_lab_vectors(D d, const ScaledMatrix& matrix, V red, V green, V blue, V& l, V& a,
                               V& b) {
  std::array<V, 3> f;
  for (std::size_t i = 0; i < 3; ++i) {
    f[i] =
        lab_function(d, multiply_add(d, red, constant(d, matrix[3 * i]),
                                     multiply_add(d, green, constant(d, matrix[3 * i + 1]),
                                                  hn::Mul(blue, constant(d, matrix[3 * i + 2])))));
  }
  l = multiply_add(d, f[1], constant(d, 116), constant(d, -16));
  a = hn::Mul(constant(d, 500), hn::Sub(f[0], f[1]));
  b = hn::Mul(constant(d, 200), hn::Sub(f[1], f[2]));
}

// Planes of linear light, as many as a tile holds.
template <class T>
struct LinearTile {
  Column<T> red, green, blue;

  // Past `count` up to whole vectors stand zeros.
  template <class Decode, class Source>
  HWY_INLINE void fill(const Source* rgb, std::size_t count, const Decode& decode) {
    for (std::size_t i = 0; i < count; ++i) {
      red.values[i] = decode(rgb[3 * i]);
      green.values[i] = decode(rgb[3 * i + 1]);
      blue.values[i] = decode(rgb[3 * i + 2]);
    }
    for (std::size_t i = count; i < whole_vectors<T>(count); ++i) {
      red.values[i] = green.values[i] = blue.values[i] = 0;
    }
  }

  HWY_INLINE void to_lab(const ScaledMatrix& matrix, std::size_t count, LabTile<T>& lab) const {
    const hn::ScalableTag<T> d;
    for (std::size_t i = 0; i < whole_vectors<T>(count); i += hn::Lanes(d)) {
      hn::Vec<decltype(d)> l;
      hn::Vec<decltype(d)> a;
      hn::Vec<decltype(d)> b;
      to_lab_vectors(d, matrix, hn::Load(d, red.values + i), hn::Load(d, green.values + i),
                     hn::Load(d, blue.values + i), l, a, b);
      hn::Store(l, d, lab.l() + i);
      hn::Store(a, d, lab.a() + i);
      hn::Store(b, d, lab.b() + i);
    }
  }
};

template <class T>
HWY_INLINE void interleave(LabTile<T>& tile, std::size_t count, T* lab) {
  const hn::ScalableTag<T> d;
  std::size_t i = 0;
  for (; i + hn::Lanes(d) <= count; i += hn::Lanes(d)) {
    hn::StoreInterleaved3(hn::Load(d, tile.l() + i), hn::Load(d, tile.a() + i),
                          hn::Load(d, tile.b() + i), d, lab + 3 * i);
  }
  for (; i < count; ++i) {
    lab[3 * i] = tile.l()[i];
    lab[3 * i + 1] = tile.a()[i];
    lab[3 * i + 2] = tile.b()[i];
  }
}

}  // namespace HWY_NAMESPACE
}  // namespace mamelon::detail
HWY_AFTER_NAMESPACE();

#endif
