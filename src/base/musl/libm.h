/* What musl's sources of mathematical functions need of its internal headers, and other names for
   their helpers. Replaces src/internal/libm.h. */
#ifndef MAMELON_MUSL_LIBM_H
#define MAMELON_MUSL_LIBM_H

#define _GNU_SOURCE
#include <float.h>
#include <math.h>
#include <stdint.h>

#define hidden __attribute__((__visibility__("hidden")))

#define __sin mamelon_kernel_sin
#define __cos mamelon_kernel_cos
#define __rem_pio2 mamelon_rem_pio2
#define __rem_pio2_large mamelon_rem_pio2_large
#define __exp_data mamelon_exp_data
#define __log_data mamelon_log_data
#define __pow_log_data mamelon_pow_log_data
#define __math_oflow mamelon_math_oflow
#define __math_uflow mamelon_math_uflow
#define __math_xflow mamelon_math_xflow
#define __math_divzero mamelon_math_divzero
#define __math_invalid mamelon_math_invalid

/* No signalling NaN, no other rounding than to nearest. */
#define WANT_ROUNDING 0
#define issignaling_inline(x) 0
#define TOINT_INTRINSICS 0

#define predict_true(x) __builtin_expect(!!(x), 1)
#define predict_false(x) __builtin_expect(x, 0)

static inline double eval_as_double(double x) {
  return x;
}
static inline double fp_barrier(double x) {
  volatile double y = x;
  return y;
}
/* Flags of exceptions are nobody's business here. */
#define FORCE_EVAL(x) ((void)(x))
#define fp_force_eval(x) ((void)(x))

#define asuint64(f) \
  ((union {         \
    double _f;      \
    uint64_t _i;    \
  }){f})            \
      ._i
#define asdouble(i) \
  ((union {         \
    uint64_t _i;    \
    double _f;      \
  }){i})            \
      ._f

#define EXTRACT_WORDS(hi, lo, d) \
  do {                           \
    uint64_t __u = asuint64(d);  \
    (hi) = __u >> 32;            \
    (lo) = (uint32_t)__u;        \
  } while (0)
#define GET_HIGH_WORD(hi, d)  \
  do {                        \
    (hi) = asuint64(d) >> 32; \
  } while (0)
#define GET_LOW_WORD(lo, d)       \
  do {                            \
    (lo) = (uint32_t)asuint64(d); \
  } while (0)
#define INSERT_WORDS(d, hi, lo)                              \
  do {                                                       \
    (d) = asdouble(((uint64_t)(hi) << 32) | (uint32_t)(lo)); \
  } while (0)
#define asuint(f) \
  ((union {       \
    float _f;     \
    uint32_t _i;  \
  }){f})          \
      ._i
#define asfloat(i) \
  ((union {        \
    uint32_t _i;   \
    float _f;      \
  }){i})           \
      ._f
#define GET_FLOAT_WORD(w, d) \
  do {                       \
    (w) = asuint(d);         \
  } while (0)
#define SET_FLOAT_WORD(d, w) \
  do {                       \
    (d) = asfloat(w);        \
  } while (0)
#define SET_HIGH_WORD(d, hi) INSERT_WORDS(d, hi, (uint32_t)asuint64(d))
#define SET_LOW_WORD(d, lo) INSERT_WORDS(d, asuint64(d) >> 32, lo)

/* Hidden: for what is linked with the library, and for nobody who loads it. */
hidden double exp(double);
hidden double expm1(double);
hidden double log(double);
hidden double log1p(double);
hidden double log10(double);
hidden double pow(double, double);
hidden double cbrt(double);
hidden double sin(double);
hidden double cos(double);
hidden void sincos(double, double*, double*);
hidden double atan(double);
hidden double atan2(double, double);
hidden double acos(double);
hidden double tanh(double);
hidden double hypot(double, double);
hidden float cbrtf(float);
hidden float hypotf(float, float);
hidden float atanf(float);
hidden float atan2f(float, float);
/* lgamma_r: the sign goes to its pointer alone. */
#define __lgamma_r lgamma_r
#define weak_alias(old, new)
hidden double lgamma_r(double, int*);
hidden double erf(double);
hidden double erfc(double);

hidden int __rem_pio2_large(double*, double*, int, int, int);
hidden int __rem_pio2(double, double*);
hidden double __sin(double, double, int);
hidden double __cos(double, double);
hidden double __math_xflow(uint32_t, double);
hidden double __math_uflow(uint32_t);
hidden double __math_oflow(uint32_t);
hidden double __math_divzero(uint32_t);
hidden double __math_invalid(double);

#endif
