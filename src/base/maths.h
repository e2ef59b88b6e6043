#pragma once
// exp, log, pow and the trigonometric functions: those of musl (src/base/musl), the same bits with
// every compiler, C library and processor. The standard's own differ in the last bit where a library
// has a fused multiply-add. What IEEE 754 fixes to the bit (sqrt, fma, floor) is taken from the
// standard library.

extern "C" {
double mamelon_exp(double x);
double mamelon_log(double x);
double mamelon_log1p(double x);
double mamelon_log10(double x);
double mamelon_pow(double x, double y);
double mamelon_cbrt(double x);
double mamelon_sin(double x);
double mamelon_cos(double x);
double mamelon_atan2(double y, double x);
double mamelon_acos(double x);
double mamelon_tanh(double x);
double mamelon_hypot(double x, double y);
double mamelon_erfc(double x);
}

namespace mamelon::maths {

inline double exp(double x) {
  return mamelon_exp(x);
}
inline double log(double x) {
  return mamelon_log(x);
}
inline double log1p(double x) {
  return mamelon_log1p(x);
}
inline double log10(double x) {
  return mamelon_log10(x);
}
inline double pow(double x, double y) {
  return mamelon_pow(x, y);
}
inline double cbrt(double x) {
  return mamelon_cbrt(x);
}
inline double sin(double x) {
  return mamelon_sin(x);
}
inline double cos(double x) {
  return mamelon_cos(x);
}
inline double atan2(double y, double x) {
  return mamelon_atan2(y, x);
}
inline double acos(double x) {
  return mamelon_acos(x);
}
inline double tanh(double x) {
  return mamelon_tanh(x);
}
inline double hypot(double x, double y) {
  return mamelon_hypot(x, y);
}
inline double erfc(double x) {
  return mamelon_erfc(x);
}

}  // namespace mamelon::maths
