#include "plan/cell_kernel.h"

#include "plan/lane_vector.h"

// The same source is compiled twice, for the baseline and for AVX2, and chosen at run time. Neither
// fuses multiply and add, and every sum has eight fixed lanes, so both give the same bits.

namespace mamelon::detail {
namespace {

template <CellDepth level, std::size_t layers_, std::size_t errors_>
struct Kernel {
  static constexpr std::size_t layers = layers_;
  static constexpr std::size_t errors = errors_;
  static constexpr std::size_t slopes = layers + errors;
  static constexpr std::size_t pairs = layers * (layers + 1) / 2;
  static constexpr bool curved = level == CellDepth::curved;
  static constexpr bool box = level == CellDepth::range || level == CellDepth::box || curved;
  static constexpr bool sloped = level != CellDepth::colour && level != CellDepth::range;

  // One block of bands on its way outward.
  struct Light {
    Vec mid, low, high;  // reflectance at the point, least and greatest within the box
    Vec slope[slopes], slope_low[slopes], slope_high[slopes];
    Vec exchange[2], exchange_low[2], exchange_high[2];
    Ball bend[pairs];
  };

  struct Sums {
    Vec xyz[3], below[3], above[3];
    Vec slope[slopes][3], slope_off_y[slopes][3], slope_off[slopes][3];
    Vec exchange[2][3], exchange_off_y[2][3], exchange_off[2][3];
    Vec bend[pairs][3], bend_off_y[pairs][3], bend_off[pairs][3];
  };

  // dR/dd = S(1 + R²) − 2(K + S)R; falls with R on [0, 1].
  static MAMELON_INLINE void growth(const Vec& k, const Vec& s, const Vec& r, Vec& out) {
    out = s * (1.0F + r * r) - 2.0F * (k + s) * r;
  }

  static MAMELON_INLINE void greatest_size(const Vec& low, const Vec& high, Vec& out) {
    greater(high, -low, out);
  }

  // The thicknesses do not move alone: the second layer gives what the others take. The mean-value
  // form along those exchanges often says more than the ends of the box.
  static MAMELON_INLINE void narrow(const CellInput& in, std::size_t j, Light& light) {
    Vec first, third;
    greatest_size(light.exchange_low[0], light.exchange_high[0], first);
    if (j == 1) {
      greatest_size(light.slope_low[1], light.slope_high[1], third);
    } else {
      greatest_size(light.exchange_low[1], light.exchange_high[1], third);
    }
    const Vec reach = in.reach_first * first + in.reach_third * third;
    greater(light.low, light.mid - reach, light.low);
    lesser(light.high, light.mid + reach, light.high);
  }

  // What the colour gains when layer `taker` takes from the second, on either side of their common
  // boundary: (dR/dd of the one − dR/dd of the other) there, for φ(R) = φ(Rg) dR/dRg.
  static MAMELON_INLINE void exchange(const CellInput& in, std::size_t taker, std::size_t bands,
                                      std::size_t at, Light& light) {
    Vec k, s, other_k, other_s, middle, half, slope_low, slope_high, steepest;
    load(in.material[taker] + at, k);
    load(in.material[taker] + bands + at, s);
    load(in.material[1] + at, other_k);
    load(in.material[1] + bands + at, other_s);
    const Vec ds = s - other_s;
    const Vec sum = k + s - other_k - other_s;
    const std::size_t axis = taker / 2;
    light.exchange[axis] = ds * (1.0F + light.mid * light.mid) - 2.0F * sum * light.mid;
    if constexpr (box) {
      middle = 0.5F * (light.low + light.high);
      half = 0.5F * (light.high - light.low);
      size_of(ds * light.low - sum, slope_low);
      size_of(ds * light.high - sum, slope_high);
      greater(slope_low, slope_high, steepest);
      const Vec value = ds * (1.0F + middle * middle) - 2.0F * sum * middle;
      const Vec off = 2.0F * steepest * half;
      light.exchange_low[axis] = value - off;
      light.exchange_high[axis] = value + off;
    }
  }

  // Carries what lies below through something of gain dR/dRg and its own slope in Rg.
  static MAMELON_INLINE void carry_bends(const Ball& gain, const Ball& bow, std::size_t count,
                                         Light& light) {
    for (std::size_t v = 0; v < count; ++v) {
      for (std::size_t u = 0; u <= v; ++u) {
        Ball a, b, square, bowed, carried;
        ball_of(light.slope[u], light.slope_low[u], light.slope_high[u], a);
        ball_of(light.slope[v], light.slope_low[v], light.slope_high[v], b);
        multiply(a, b, square);
        multiply(bow, square, bowed);
        Ball& bend = light.bend[pair_of(u, v)];
        multiply(gain, bend, carried);
        bend.value = carried.value + bowed.value;
        bend.off = carried.off + bowed.off;
      }
    }
  }

  static MAMELON_INLINE void carry(const Vec& gain, const Vec& least, const Vec& most, Vec& value,
                                   Vec& low, Vec& high) {
    value *= gain;
    if constexpr (box) {
      lesser(low * least, low * most, low);
      greater(high * least, high * most, high);
    }
  }
  static MAMELON_INLINE void carry_slopes(const Vec& gain, const Vec& least, const Vec& most,
                                          std::size_t from, std::size_t to, Light& light) {
    for (std::size_t u = from; u < to; ++u)
      carry(gain, least, most, light.slope[u], light.slope_low[u], light.slope_high[u]);
  }
  static MAMELON_INLINE void carry_exchanges(const Vec& gain, const Vec& least, const Vec& most,
                                             std::size_t count, Light& light) {
    for (std::size_t a = 0; a < count; ++a)
      carry(gain, least, most, light.exchange[a], light.exchange_low[a], light.exchange_high[a]);
  }

  // The new layer's own second derivatives: d(dR/dd)/du = (2 S R − 2(K + S)) dR/du.
  static MAMELON_INLINE void own_bends(const Vec& k, const Vec& s, std::size_t j, Light& light) {
    Ball reflectance, turn;
    ball_of(light.mid, light.low, light.high, reflectance);
    turn.value = 2.0F * (s * light.mid - (k + s));
    turn.off = 2.0F * s * reflectance.off;
    for (std::size_t u = 0; u <= j; ++u) {
      Ball slope;
      ball_of(light.slope[u], light.slope_low[u], light.slope_high[u], slope);
      multiply(turn, slope, light.bend[pair_of(u, j)]);
    }
  }

  // The first layer stands ready over its floor.
  static MAMELON_INLINE void first(const Tables& tables, const CellInput& in, std::size_t at,
                                   Light& light) {
    const std::size_t bands = tables.bands;
    Vec k, s;
    load(in.material[0] + at, k);
    load(in.material[0] + bands + at, s);
    load(in.mid[0] + at, light.mid);
    if constexpr (sloped) growth(k, s, light.mid, light.slope[0]);
    Vec gain, thin_gain, thick_gain;
    if constexpr (box) {
      Vec thin, thick;
      load(in.low[0] + at, thin);
      load(in.high[0] + at, thick);
      lesser(thin, thick, light.low);
      greater(thin, thick, light.high);
      if constexpr (sloped) {
        growth(k, s, light.high, light.slope_low[0]);
        growth(k, s, light.low, light.slope_high[0]);
      }
    }
    if constexpr (errors > 0) {
      load(in.mid[0] + bands + at, gain);
      thin_gain = thick_gain = gain;
      if constexpr (box) {
        load(in.low[0] + bands + at, thin_gain);
        load(in.high[0] + bands + at, thick_gain);
      }
      for (std::size_t e = 0; e < errors; ++e) {
        Vec error;
        load(tables.floor_errors.data() + e * bands + at, error);
        light.slope[layers + e] = error;
        if constexpr (box) light.slope_low[layers + e] = light.slope_high[layers + e] = error;
      }
      carry_slopes(gain, thick_gain, thin_gain, layers, slopes, light);
    }
    if constexpr (curved) own_bends(k, s, 0, light);
  }

  static MAMELON_INLINE void cover(const CellInput& in, std::size_t j, std::size_t bands,
                                   std::size_t at, Light& light) {
    Vec r0, t, k, s;
    load(in.mid[j] + at, r0);
    load(in.mid[j] + bands + at, t);
    load(in.material[j] + at, k);
    load(in.material[j] + bands + at, s);
    const Vec out = 1.0F / (1.0F - r0 * light.mid);
    const Vec escape = t * out;
    const Vec gain = escape * escape;
    if constexpr (level != CellDepth::colour) exchange(in, j == 1 ? 0 : 2, bands, at, light);
    if constexpr (box) {
      Vec thin_r0, thin_t, thick_r0, thick_t;
      load(in.low[j] + at, thin_r0);
      load(in.low[j] + bands + at, thin_t);
      load(in.high[j] + at, thick_r0);
      load(in.high[j] + bands + at, thick_t);
      const Vec out_thin_low = 1.0F / (1.0F - thin_r0 * light.low);
      const Vec out_thick_high = 1.0F / (1.0F - thick_r0 * light.high);
      const Vec thin_low = thin_t * out_thin_low;
      const Vec thick_low = thick_t / (1.0F - thick_r0 * light.low);
      const Vec thin_high = thin_t / (1.0F - thin_r0 * light.high);
      const Vec thick_high = thick_t * out_thick_high;
      // dR/dRg falls with thickness and rises with Rg.
      const Vec least_gain = thick_low * thick_low;
      const Vec most_gain = thin_high * thin_high;
      if constexpr (curved) {
        // d²R/dRg² = 2 R0 dR/dRg / (1 − R0 Rg).
        Ball passed, bow;
        ball_of(gain, least_gain, most_gain, passed);
        ball_of(2.0F * r0 * gain * out, 2.0F * thin_r0 * least_gain * out_thin_low,
                2.0F * thick_r0 * most_gain * out_thick_high, bow);
        carry_bends(passed, bow, j, light);
      }
      if constexpr (sloped) {
        carry_slopes(gain, least_gain, most_gain, 0, j, light);
        carry_slopes(gain, least_gain, most_gain, layers, slopes, light);
      }
      carry_exchanges(gain, least_gain, most_gain, j, light);
      lesser(thin_r0 + thin_t * thin_low * light.low, thick_r0 + thick_t * thick_low * light.low,
             light.low);
      greater(thin_r0 + thin_t * thin_high * light.high,
              thick_r0 + thick_t * thick_high * light.high, light.high);
      light.mid = r0 + t * escape * light.mid;
      if (sloped || j == 1) {
        growth(k, s, light.high, light.slope_low[j]);
        growth(k, s, light.low, light.slope_high[j]);
      }
      narrow(in, j, light);
      if constexpr (sloped) {
        growth(k, s, light.mid, light.slope[j]);
        growth(k, s, light.high, light.slope_low[j]);
        growth(k, s, light.low, light.slope_high[j]);
      }
      if constexpr (curved) own_bends(k, s, j, light);
    } else {
      light.mid = r0 + t * escape * light.mid;
      if constexpr (sloped) {
        carry_slopes(gain, gain, gain, 0, j, light);
        carry_slopes(gain, gain, gain, layers, slopes, light);
        growth(k, s, light.mid, light.slope[j]);
      }
    }
  }

  static MAMELON_INLINE void surface(const CellInput& in, Light& light) {
    const Vec escape = 1.0F / (1.0F - in.k2 * light.mid);
    const Vec gain = in.pass * escape * escape;
    if constexpr (box) {
      const Vec escape_low = 1.0F / (1.0F - in.k2 * light.low);
      const Vec escape_high = 1.0F / (1.0F - in.k2 * light.high);
      const Vec least_gain = in.pass * escape_low * escape_low;
      const Vec most_gain = in.pass * escape_high * escape_high;
      if constexpr (curved) {
        Ball passed, bow;
        ball_of(gain, least_gain, most_gain, passed);
        ball_of(2.0F * in.k2 * gain * escape, 2.0F * in.k2 * least_gain * escape_low,
                2.0F * in.k2 * most_gain * escape_high, bow);
        carry_bends(passed, bow, layers, light);
      }
      if constexpr (sloped) carry_slopes(gain, least_gain, most_gain, 0, slopes, light);
      carry_exchanges(gain, least_gain, most_gain, layers - 1, light);
      light.low = in.pass * light.low * escape_low + in.added;
      light.high = in.pass * light.high * escape_high + in.added;
    } else if constexpr (sloped) {
      carry_slopes(gain, gain, gain, 0, slopes, light);
    }
    light.mid = in.pass * light.mid * escape + in.added;
  }

  static MAMELON_INLINE void add_colours(const ViewTable& view, std::size_t bands, std::size_t at,
                                         const Light& light, Sums& sums) {
    for (std::size_t c = 0; c < 3; ++c) {
      Vec w, size;
      load(view.weights.data() + c * bands + at, w);
      sums.xyz[c] += w * light.mid;
      if constexpr (box) {
        size_of(w, size);
        sums.below[c] += size * (light.mid - light.low);
        sums.above[c] += size * (light.high - light.mid);
      }
    }
  }

  static MAMELON_INLINE void add_slopes(const ViewTable& view, std::size_t bands, std::size_t at,
                                        const Light& light, Sums& sums) {
    Vec slope[slopes], off[slopes];
    for (std::size_t j = 0; j < slopes; ++j) {
      if constexpr (curved) {
        slope[j] = light.slope[j];
        greater(light.slope_high[j] - slope[j], slope[j] - light.slope_low[j], off[j]);
      } else if constexpr (box) {
        slope[j] = 0.5F * (light.slope_high[j] + light.slope_low[j]);
        off[j] = 0.5F * (light.slope_high[j] - light.slope_low[j]);
      } else {
        slope[j] = light.slope[j];
      }
    }
    Vec swap[2], swap_off[2];
    for (std::size_t a = 0; a + 1 < layers; ++a) {
      if constexpr (curved) {
        swap[a] = light.exchange[a];
        greater(light.exchange_high[a] - swap[a], swap[a] - light.exchange_low[a], swap_off[a]);
      } else if constexpr (box) {
        swap[a] = 0.5F * (light.exchange_high[a] + light.exchange_low[a]);
        swap_off[a] = 0.5F * (light.exchange_high[a] - light.exchange_low[a]);
      }
    }
    for (std::size_t c = 0; c < 3; ++c) {
      Vec w;
      load(view.weights.data() + c * bands + at, w);
      for (std::size_t j = 0; j < slopes; ++j) sums.slope[j][c] += w * slope[j];
      if constexpr (curved) {
        for (std::size_t n = 0; n < pairs; ++n) sums.bend[n][c] += w * light.bend[n].value;
      }
      if constexpr (box) {
        Vec size, reach;
        size_of(w, size);
        load(view.reach.data() + c * bands + at, reach);
        for (std::size_t j = 0; j < slopes; ++j) {
          sums.slope_off_y[j][c] += reach * off[j];
          sums.slope_off[j][c] += size * off[j];
        }
        for (std::size_t a = 0; a + 1 < layers; ++a) {
          sums.exchange[a][c] += w * swap[a];
          sums.exchange_off_y[a][c] += reach * swap_off[a];
          sums.exchange_off[a][c] += size * swap_off[a];
        }
        if constexpr (curved) {
          for (std::size_t n = 0; n < pairs; ++n) {
            sums.bend_off_y[n][c] += reach * light.bend[n].off;
            sums.bend_off[n][c] += size * light.bend[n].off;
          }
        }
      }
    }
  }

  static MAMELON_INLINE void gather(const Sums& sums, CellSums& out) {
    for (std::size_t c = 0; c < 3; ++c) {
      out.xyz[c] = total(sums.xyz[c]);
      if constexpr (box) {
        out.below[c] = total(sums.below[c]);
        out.above[c] = total(sums.above[c]);
      }
      if constexpr (box && sloped) {
        for (std::size_t a = 0; a + 1 < layers; ++a) {
          out.exchange[a][c] = total(sums.exchange[a][c]);
          out.exchange_off_y[a][c] = total(sums.exchange_off_y[a][c]);
          out.exchange_off[a][c] = total(sums.exchange_off[a][c]);
        }
      }
      for (std::size_t j = 0; sloped && j < slopes; ++j) {
        out.slope[j][c] = total(sums.slope[j][c]);
        if constexpr (box) {
          out.slope_off_y[j][c] = total(sums.slope_off_y[j][c]);
          out.slope_off[j][c] = total(sums.slope_off[j][c]);
        }
      }
      if constexpr (curved) {
        for (std::size_t n = 0; n < pairs; ++n) {
          out.bend[n][c] = total(sums.bend[n][c]);
          out.bend_off_y[n][c] = total(sums.bend_off_y[n][c]);
          out.bend_off[n][c] = total(sums.bend_off[n][c]);
        }
      }
    }
  }

  static MAMELON_INLINE void outward(const Tables& tables, const CellInput& in, std::size_t at,
                                     Light& light) {
    first(tables, in, at, light);
    if constexpr (layers > 1) {
      for (std::size_t j = 1; j < layers; ++j) cover(in, j, tables.bands, at, light);
    }
    surface(in, light);
  }

  static MAMELON_INLINE void sums_of(const Tables& tables, const CellInput& in, CellSums* out) {
    const std::size_t bands = tables.bands;
    for (std::size_t v = 0; v < tables.views.size(); ++v) {
      Sums sums{};
      for (std::size_t at = 0; at < bands; at += lanes) {
        Light light;
        outward(tables, in, at, light);
        add_colours(tables.views[v], bands, at, light, sums);
        if constexpr (sloped) add_slopes(tables.views[v], bands, at, light, sums);
      }
      gather(sums, out[v]);
    }
  }

  // The same, and the exchanges.
  static MAMELON_INLINE void ranges_of(const Tables& tables, const CellInput& in, CellSums* out,
                                       Exchanges& exchanges) {
    const std::size_t bands = tables.bands;
    for (std::size_t v = 0; v < tables.views.size(); ++v) {
      Sums sums{};
      for (std::size_t at = 0; at < bands; at += lanes) {
        Light light;
        outward(tables, in, at, light);
        add_colours(tables.views[v], bands, at, light, sums);
        for (std::size_t a = 0; v == 0 && a + 1 < layers; ++a) {
          store(0.5F * (light.exchange_high[a] + light.exchange_low[a]), exchanges.middle(a) + at);
          store(0.5F * (light.exchange_high[a] - light.exchange_low[a]), exchanges.half(a) + at);
        }
      }
      gather(sums, out[v]);
    }
  }
};

// One function for each case: compilers take long over one that holds them all.
enum class Target { baseline, avx2 };

template <Target target, CellDepth level, std::size_t layers, std::size_t errors>
struct Case;

template <CellDepth level, std::size_t layers, std::size_t errors>
struct Case<Target::baseline, level, layers, errors> {
  static void sums(const Tables& tables, const CellInput& in, CellSums* out) {
    Kernel<level, layers, errors>::sums_of(tables, in, out);
  }
  static void ranges(const Tables& tables, const CellInput& in, CellSums* out,
                     Exchanges& exchanges) {
    Kernel<level, layers, errors>::ranges_of(tables, in, out, exchanges);
  }
};

#if defined(__x86_64__)
template <CellDepth level, std::size_t layers, std::size_t errors>
struct Case<Target::avx2, level, layers, errors> {
  __attribute__((target("avx2"))) static void sums(const Tables& tables, const CellInput& in,
                                                   CellSums* out) {
    Kernel<level, layers, errors>::sums_of(tables, in, out);
  }
  __attribute__((target("avx2"))) static void ranges(const Tables& tables, const CellInput& in,
                                                     CellSums* out, Exchanges& exchanges) {
    Kernel<level, layers, errors>::ranges_of(tables, in, out, exchanges);
  }
};
const bool has_avx2 = __builtin_cpu_supports("avx2") != 0;
#endif

template <Target target, CellDepth level, std::size_t errors>
void any_layers(const Tables& tables, const CellInput& in, CellSums* out) {
  if (in.layers == 1) {
    Case<target, level, 1, errors>::sums(tables, in, out);
  } else if (in.layers == 2) {
    Case<target, level, 2, errors>::sums(tables, in, out);
  } else {
    Case<target, level, 3, errors>::sums(tables, in, out);
  }
}

template <Target target, std::size_t errors>
void any_depth(const Tables& tables, const CellInput& in, CellDepth depth, CellSums* out) {
  if (depth == CellDepth::point) {
    any_layers<target, CellDepth::point, errors>(tables, in, out);
  } else if (depth == CellDepth::box) {
    any_layers<target, CellDepth::box, errors>(tables, in, out);
  } else {
    any_layers<target, CellDepth::curved, errors>(tables, in, out);
  }
}

template <Target target>
void any(const Tables& tables, const CellInput& in, CellDepth depth, CellSums* out) {
  if (depth == CellDepth::colour) {
    any_layers<target, CellDepth::colour, 0>(tables, in, out);
  } else if (tables.floor_errors.empty()) {
    any_depth<target, 0>(tables, in, depth, out);
  } else {
    any_depth<target, most_floor_errors>(tables, in, depth, out);
  }
}

template <Target target>
void any_ranges(const Tables& tables, const CellInput& in, CellSums* out, Exchanges& exchanges) {
  if (in.layers == 2) {
    Case<target, CellDepth::range, 2, 0>::ranges(tables, in, out, exchanges);
  } else {
    Case<target, CellDepth::range, 3, 0>::ranges(tables, in, out, exchanges);
  }
}

MAMELON_INLINE void any_lean(const ViewTable& view, const std::array<float, 3>& coefficient,
                             const Exchanges& exchanges, std::size_t axis, Lean& out) {
  const std::size_t bands = exchanges.bands;
  Vec middle{}, half{};
  for (std::size_t at = 0; at < bands; at += lanes) {
    Vec x, y, z, value, off, size;
    load(view.weights.data() + at, x);
    load(view.weights.data() + bands + at, y);
    load(view.weights.data() + 2 * bands + at, z);
    load(exchanges.middle(axis) + at, value);
    load(exchanges.half(axis) + at, off);
    const Vec weight = coefficient[0] * x + coefficient[1] * y + coefficient[2] * z;
    size_of(weight, size);
    middle += weight * value;
    half += size * off;
  }
  out.middle = total(middle);
  out.half = total(half);
}

#if defined(__x86_64__)
__attribute__((target("avx2"))) void any_lean_avx2(const ViewTable& view,
                                                   const std::array<float, 3>& coefficient,
                                                   const Exchanges& exchanges, std::size_t axis,
                                                   Lean& out) {
  any_lean(view, coefficient, exchanges, axis, out);
}
#endif

}  // namespace

void cell_sums(const Tables& tables, const CellInput& input, CellDepth depth, CellSums* out) {
#if defined(__x86_64__)
  if (has_avx2) {
    any<Target::avx2>(tables, input, depth, out);
    return;
  }
#endif
  any<Target::baseline>(tables, input, depth, out);
}

void range_sums(const Tables& tables, const CellInput& input, CellSums* out, Exchanges& exchanges) {
#if defined(__x86_64__)
  if (has_avx2) {
    any_ranges<Target::avx2>(tables, input, out, exchanges);
    return;
  }
#endif
  any_ranges<Target::baseline>(tables, input, out, exchanges);
}

Lean lean_of(const ViewTable& view, const std::array<float, 3>& coefficient,
             const Exchanges& exchanges, std::size_t axis) {
  Lean lean;
#if defined(__x86_64__)
  if (has_avx2) {
    any_lean_avx2(view, coefficient, exchanges, axis, lean);
    return lean;
  }
#endif
  any_lean(view, coefficient, exchanges, axis, lean);
  return lean;
}

}  // namespace mamelon::detail
