#include "plan/cell_kernel.h"

#include <cstring>

// The same source is compiled twice, for the baseline and for AVX2, and chosen at run time. Neither
// fuses multiply and add, and every sum has eight fixed lanes, so both give the same bits.

#define MAMELON_INLINE inline __attribute__((always_inline))

namespace mamelon::detail {
namespace {

using Vec = float __attribute__((vector_size(4 * lanes)));

MAMELON_INLINE void load(const float* from, Vec& to) {
  std::memcpy(&to, from, sizeof to);
}
MAMELON_INLINE void lesser(const Vec& a, const Vec& b, Vec& out) {
  out = a < b ? a : b;
}
MAMELON_INLINE void greater(const Vec& a, const Vec& b, Vec& out) {
  out = a > b ? a : b;
}

MAMELON_INLINE float total(const Vec& v) {
  return ((v[0] + v[4]) + (v[1] + v[5])) + ((v[2] + v[6]) + (v[3] + v[7]));
}

// One block of bands on its way outward.
struct Light {
  Vec mid, low, high;  // reflectance at the point, least and greatest within the box
  Vec slope[most_layers], slope_low[most_layers], slope_high[most_layers];
};

// dR/dd = S(1 + R²) − 2(K + S)R; falls with R on [0, 1].
MAMELON_INLINE void growth(const Vec& k, const Vec& s, const Vec& r, Vec& out) {
  out = s * (1.0F + r * r) - 2.0F * (k + s) * r;
}

MAMELON_INLINE void greatest_size(const Vec& low, const Vec& high, Vec& out) {
  greater(high, -low, out);
}

// The thicknesses do not move alone: the second layer gives what the others take. The mean-value
// form along those exchanges often says more than the ends of the box.
MAMELON_INLINE void narrow(const CellInput& in, std::size_t j, Light& light) {
  Vec first, third;
  greatest_size(light.slope_low[0] - light.slope_high[1], light.slope_high[0] - light.slope_low[1],
                first);
  if (j == 1) {
    greatest_size(light.slope_low[1], light.slope_high[1], third);
  } else {
    greatest_size(light.slope_low[2] - light.slope_high[1],
                  light.slope_high[2] - light.slope_low[1], third);
  }
  const Vec reach = in.reach_first * first + in.reach_third * third;
  greater(light.low, light.mid - reach, light.low);
  lesser(light.high, light.mid + reach, light.high);
}

template <bool box>
MAMELON_INLINE void cover(const CellInput& in, std::size_t j, std::size_t bands, std::size_t at,
                          Light& light) {
  Vec r0, t, k, s;
  load(in.mid[j] + at, r0);
  load(in.mid[j] + bands + at, t);
  load(in.material[j] + at, k);
  load(in.material[j] + bands + at, s);
  const Vec escape = t / (1.0F - r0 * light.mid);
  const Vec gain = escape * escape;
  for (std::size_t u = 0; u < j; ++u) light.slope[u] *= gain;
  light.mid = r0 + t * escape * light.mid;
  growth(k, s, light.mid, light.slope[j]);
  if constexpr (box) {
    Vec thin_r0, thin_t, thick_r0, thick_t;
    load(in.low[j] + at, thin_r0);
    load(in.low[j] + bands + at, thin_t);
    load(in.high[j] + at, thick_r0);
    load(in.high[j] + bands + at, thick_t);
    const Vec thin_low = thin_t / (1.0F - thin_r0 * light.low);
    const Vec thick_low = thick_t / (1.0F - thick_r0 * light.low);
    const Vec thin_high = thin_t / (1.0F - thin_r0 * light.high);
    const Vec thick_high = thick_t / (1.0F - thick_r0 * light.high);
    // dR/dRg falls with thickness and rises with Rg.
    const Vec least_gain = thick_low * thick_low;
    const Vec most_gain = thin_high * thin_high;
    for (std::size_t u = 0; u < j; ++u) {
      lesser(light.slope_low[u] * least_gain, light.slope_low[u] * most_gain, light.slope_low[u]);
      greater(light.slope_high[u] * least_gain, light.slope_high[u] * most_gain,
              light.slope_high[u]);
    }
    lesser(thin_r0 + thin_t * thin_low * light.low, thick_r0 + thick_t * thick_low * light.low,
           light.low);
    greater(thin_r0 + thin_t * thin_high * light.high, thick_r0 + thick_t * thick_high * light.high,
            light.high);
    growth(k, s, light.high, light.slope_low[j]);
    growth(k, s, light.low, light.slope_high[j]);
    if (j > 0) {
      narrow(in, j, light);
      growth(k, s, light.high, light.slope_low[j]);
      growth(k, s, light.low, light.slope_high[j]);
    }
  }
}

template <bool box, std::size_t layers>
MAMELON_INLINE void surface(const CellInput& in, Light& light) {
  const Vec escape = 1.0F / (1.0F - in.k2 * light.mid);
  const Vec gain = in.pass * escape * escape;
  for (std::size_t j = 0; j < layers; ++j) light.slope[j] *= gain;
  light.mid = in.pass * light.mid * escape + in.added;
  if constexpr (box) {
    const Vec escape_low = 1.0F / (1.0F - in.k2 * light.low);
    const Vec escape_high = 1.0F / (1.0F - in.k2 * light.high);
    const Vec least_gain = in.pass * escape_low * escape_low;
    const Vec most_gain = in.pass * escape_high * escape_high;
    for (std::size_t j = 0; j < layers; ++j) {
      lesser(light.slope_low[j] * least_gain, light.slope_low[j] * most_gain, light.slope_low[j]);
      greater(light.slope_high[j] * least_gain, light.slope_high[j] * most_gain,
              light.slope_high[j]);
    }
    light.low = in.pass * light.low * escape_low + in.added;
    light.high = in.pass * light.high * escape_high + in.added;
  }
}

struct Sums {
  Vec xyz[3], below[3], above[3], slope[most_layers][3], deviation[most_layers], crude[most_layers];
};

template <bool box, std::size_t layers>
MAMELON_INLINE void add_block(const ViewTable& view, std::size_t bands, std::size_t at,
                              const Light& light, Sums& sums) {
  for (std::size_t c = 0; c < 3; ++c) {
    Vec w;
    load(view.weights.data() + c * bands + at, w);
    sums.xyz[c] += w * light.mid;
    for (std::size_t j = 0; j < layers; ++j) sums.slope[j][c] += w * light.slope[j];
    if constexpr (box) {
      Vec magnitude;
      load(view.magnitudes.data() + c * bands + at, magnitude);
      sums.below[c] += magnitude * (light.mid - light.low);
      sums.above[c] += magnitude * (light.high - light.mid);
    }
  }
  if constexpr (box) {
    Vec length, crude;
    load(view.length.data() + at, length);
    load(view.crude_length.data() + at, crude);
    for (std::size_t j = 0; j < layers; ++j) {
      Vec radius;
      greater(light.slope_high[j] - light.slope[j], light.slope[j] - light.slope_low[j], radius);
      sums.deviation[j] += length * radius;
      sums.crude[j] += crude * radius;
    }
  }
}

template <bool box, std::size_t layers>
MAMELON_INLINE void gather(const Sums& sums, CellSums& out) {
  for (std::size_t c = 0; c < 3; ++c) {
    out.xyz[c] = total(sums.xyz[c]);
    for (std::size_t j = 0; j < layers; ++j) out.slope[j][c] = total(sums.slope[j][c]);
    if constexpr (box) {
      out.below[c] = total(sums.below[c]);
      out.above[c] = total(sums.above[c]);
    }
  }
  if constexpr (box) {
    for (std::size_t j = 0; j < layers; ++j) {
      out.deviation[j] = total(sums.deviation[j]);
      out.crude_deviation[j] = total(sums.crude[j]);
    }
  }
}

template <bool box, std::size_t layers>
MAMELON_INLINE void sums_of(const Tables& tables, const CellInput& in, CellSums* out) {
  const std::size_t bands = tables.bands;
  for (std::size_t v = 0; v < tables.views.size(); ++v) {
    Sums sums{};
    for (std::size_t at = 0; at < bands; at += lanes) {
      Light light;
      load(tables.floor.data() + at, light.mid);
      if constexpr (box) light.low = light.high = light.mid;
      for (std::size_t j = 0; j < layers; ++j) cover<box>(in, j, bands, at, light);
      surface<box, layers>(in, light);
      add_block<box, layers>(tables.views[v], bands, at, light, sums);
    }
    gather<box, layers>(sums, out[v]);
  }
}

template <bool box>
MAMELON_INLINE void any_layers(const Tables& tables, const CellInput& in, CellSums* out) {
  if (in.layers == 1) {
    sums_of<box, 1>(tables, in, out);
  } else if (in.layers == 2) {
    sums_of<box, 2>(tables, in, out);
  } else {
    sums_of<box, 3>(tables, in, out);
  }
}

#if defined(__x86_64__)
__attribute__((target("avx2"))) void cell_avx2(const Tables& tables, const CellInput& in,
                                               CellSums* out) {
  any_layers<true>(tables, in, out);
}
__attribute__((target("avx2"))) void point_avx2(const Tables& tables, const CellInput& in,
                                                CellSums* out) {
  any_layers<false>(tables, in, out);
}
const bool has_avx2 = __builtin_cpu_supports("avx2") != 0;
#endif

}  // namespace

void cell_sums(const Tables& tables, const CellInput& input, CellSums* out) {
#if defined(__x86_64__)
  if (has_avx2) {
    cell_avx2(tables, input, out);
    return;
  }
#endif
  any_layers<true>(tables, input, out);
}

void point_sums(const Tables& tables, const CellInput& input, CellSums* out) {
#if defined(__x86_64__)
  if (has_avx2) {
    point_avx2(tables, input, out);
    return;
  }
#endif
  any_layers<false>(tables, input, out);
}

}  // namespace mamelon::detail
