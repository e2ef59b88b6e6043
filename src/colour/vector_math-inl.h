// Vector arithmetic shared by the kernels; included once for every instruction set.

#include <cstdint>

#include "hwy/highway.h"

#if defined(MAMELON_COLOUR_VECTOR_MATH_INL_H_) == defined(HWY_TARGET_TOGGLE)
#ifdef MAMELON_COLOUR_VECTOR_MATH_INL_H_
#undef MAMELON_COLOUR_VECTOR_MATH_INL_H_
#else
#define MAMELON_COLOUR_VECTOR_MATH_INL_H_
#endif

HWY_BEFORE_NAMESPACE();
namespace mamelon::detail {
namespace HWY_NAMESPACE {
namespace hn = hwy::HWY_NAMESPACE;

// In double every operation here is one that IEEE 754 fixes to the bit and none is fused, so that
// all instruction sets agree. In float, fused operations and estimates are used where they exist.
template <class D, class V = hn::Vec<D>>
HWY_INLINE V multiply_add(D, V a, V b, V c) {
  if constexpr (sizeof(hn::TFromD<D>) == 8) {
    return hn::Add(hn::Mul(a, b), c);
  } else {
    return hn::MulAdd(a, b, c);
  }
}

template <class D, class V = hn::Vec<D>>
HWY_INLINE V constant(D d, double value) {
  return hn::Set(d, static_cast<hn::TFromD<D>>(value));
}

// Coefficients from the constant term upward.
template <class D, std::size_t n, class V = hn::Vec<D>>
HWY_INLINE V polynomial(D d, V x, const double (&coefficients)[n]) {
  V sum = constant(d, coefficients[n - 1]);
  for (std::size_t i = n - 1; i-- > 0;) {
    sum = multiply_add(d, sum, x, constant(d, coefficients[i]));
  }
  return sum;
}

// Added to what goes under a root so that 0 stays out of it: far below any colour's share.
template <class T>
inline constexpr double above_zero = sizeof(T) == 4 ? 1e-30 : 1e-290;

// 1/√x for normal x > 0. It spares the divider, which square roots keep busy.
template <class V>
HWY_INLINE V inverse_sqrt(hn::ScalableTag<float> d, V x) {
#if HWY_ARCH_X86 && HWY_TARGET != HWY_SCALAR && HWY_TARGET != HWY_EMU128
  // The processor's estimate has 12 bits, one step of Newton's doubles them; the emulated set's has
  // fewer.
  const V half = hn::Mul(constant(d, 0.5), x);
  const V y = hn::ApproximateReciprocalSqrt(x);
  const V error = hn::NegMulAdd(hn::Mul(half, y), y, constant(d, 0.5));
  return hn::MulAdd(y, error, y);
#else
  return hn::Div(constant(d, 1), hn::Sqrt(x));
#endif
}
template <class V>
HWY_INLINE V inverse_sqrt(hn::ScalableTag<double> d, V x) {
  // The exponent halved by a shift gives 1/√x within 3.5 %; each step below raises the error to
  // its fourth power, the last to its third.
  const hn::RebindToUnsigned<hn::ScalableTag<double>> bits;
  V y = hn::BitCast(
      d, hn::Sub(hn::Set(bits, 0x5FE6EB50C7B537A9ULL), hn::ShiftRight<1>(hn::BitCast(bits, x))));
  const V one = constant(d, 1);
  V h = hn::Sub(one, hn::Mul(hn::Mul(x, y), y));
  V step = multiply_add(d, h, constant(d, 0.3125), constant(d, 0.375));
  step = multiply_add(d, h, step, constant(d, 0.5));
  y = hn::Add(y, hn::Mul(y, hn::Mul(h, step)));
  h = hn::Sub(one, hn::Mul(hn::Mul(x, y), y));
  step = multiply_add(d, h, constant(d, 0.375), constant(d, 0.5));
  return hn::Add(y, hn::Mul(y, hn::Mul(h, step)));
}

// The same where other work waits for the multipliers. In float the estimate is cheaper still.
template <class V>
HWY_INLINE V inverse_sqrt_by_divider(hn::ScalableTag<float> d, V x) {
  return inverse_sqrt(d, x);
}
template <class V>
HWY_INLINE V inverse_sqrt_by_divider(hn::ScalableTag<double> d, V x) {
  return hn::Div(constant(d, 1), hn::Sqrt(x));
}

}  // namespace HWY_NAMESPACE
}  // namespace mamelon::detail
HWY_AFTER_NAMESPACE();

#endif
