#pragma once
// Eight lanes at a time, and values with the most that they are off. For sources that are compiled
// for several instruction sets: everything is inlined into them.

#include <cstring>

#include "plan/tables.h"

#define MAMELON_INLINE inline __attribute__((always_inline))

namespace mamelon::detail {

using Vec = float __attribute__((vector_size(4 * lanes)));

MAMELON_INLINE void load(const float* from, Vec& to) {
  std::memcpy(&to, from, sizeof to);
}
MAMELON_INLINE void store(const Vec& from, float* to) {
  std::memcpy(to, &from, sizeof from);
}
MAMELON_INLINE void lesser(const Vec& a, const Vec& b, Vec& out) {
  out = a < b ? a : b;
}
MAMELON_INLINE void greater(const Vec& a, const Vec& b, Vec& out) {
  out = a > b ? a : b;
}
MAMELON_INLINE void size_of(const Vec& a, Vec& out) {
  greater(a, -a, out);
}

MAMELON_INLINE float total(const Vec& v) {
  using Half = float __attribute__((vector_size(2 * lanes)));
  Half low, high;
  std::memcpy(&low, &v, sizeof low);
  std::memcpy(&high, reinterpret_cast<const char*>(&v) + sizeof low, sizeof high);
  const Half sum = low + high;
  return (sum[0] + sum[1]) + (sum[2] + sum[3]);
}

// A value at the point and the most that it is off within the box.
struct Ball {
  Vec value, off;
};
MAMELON_INLINE void multiply(const Ball& a, const Ball& b, Ball& out) {
  Vec size_a, size_b;
  size_of(a.value, size_a);
  size_of(b.value, size_b);
  out.off = size_a * b.off + (size_b + b.off) * a.off;
  out.value = a.value * b.value;
}
MAMELON_INLINE void ball_of(const Vec& value, const Vec& low, const Vec& high, Ball& out) {
  out.value = value;
  greater(high - value, value - low, out.off);
}

}  // namespace mamelon::detail
