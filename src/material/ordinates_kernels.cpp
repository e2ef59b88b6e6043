// The kernels of the discrete ordinates and their choice by instruction set.

#include "material/ordinates_kernels.h"

#include <algorithm>
#include <vector>

#include "material/one_stream.h"

// Vectors without a size known to the compiler cannot stand in arrays.
#define HWY_DISABLED_TARGETS \
  (MAMELON_LEFT_OUT_TARGETS | HWY_SVE | HWY_SVE2 | HWY_SVE_256 | HWY_SVE2_128 | HWY_RVV)
#undef HWY_TARGET_INCLUDE
#define HWY_TARGET_INCLUDE "material/ordinates_kernels.cpp"
#include "hwy/foreach_target.h"
#include "hwy/highway.h"
#include "material/bands-inl.h"

HWY_BEFORE_NAMESPACE();
namespace mamelon::detail {
namespace HWY_NAMESPACE {

template <class Count>
struct Column {
  Bands m[Count::most][1];
};
template <class Count>
struct TwoColumns {
  Bands m[Count::most][2];
};

HWY_INLINE double* row(Modes& modes, int i) {
  return modes.rows.data() + static_cast<std::size_t>(i) * modes.pitch;
}
HWY_INLINE const double* row(const Modes& modes, int i) {
  return modes.rows.data() + static_cast<std::size_t>(i) * modes.pitch;
}

// With sum and difference of the two directions scaled by √(w µ):
// d(sum)/dz = −E diff, d(diff)/dz = −F sum, E and F symmetric; E = L Lᵀ, and the modes are the
// eigenvectors of Lᵀ F L.
template <class Count>
void modes_of_bands(Count n, const ModesTask& task, std::size_t band) {
  const Bands scattering = load(task.scattering + band);
  const Bands extinction = load(task.extinction + band);
  Matrix<Count> l;  // E, then its Cholesky factor
  Matrix<Count> f;
  for (int i = 0; i < n; ++i) {
    for (int j = 0; j < n; ++j) {
      const auto at =
          static_cast<std::size_t>(i) * static_cast<std::size_t>(n) + static_cast<std::size_t>(j);
      l.m[i][j] = all(-task.phase.odd[at]) * scattering;
      f.m[i][j] = all(-task.phase.even[at]) * scattering;
    }
    const Bands slope = extinction / all(task.ordinates.mu[static_cast<std::size_t>(i)]);
    l.m[i][i] = l.m[i][i] + slope;
    f.m[i][i] = f.m[i][i] + slope;
  }
  for (int j = 0; j < n; ++j) {
    for (int k = 0; k < j; ++k) l.m[j][j] = l.m[j][j] - l.m[j][k] * l.m[j][k];
    l.m[j][j] = hn::Sqrt(l.m[j][j]);
    const Bands inverse = all(1) / l.m[j][j];
    for (int i = j + 1; i < n; ++i) {
      for (int k = 0; k < j; ++k) l.m[i][j] = l.m[i][j] - l.m[i][k] * l.m[j][k];
      l.m[i][j] = l.m[i][j] * inverse;
    }
  }
  Matrix<Count> fl;
  for (int i = 0; i < n; ++i) {
    for (int j = 0; j < n; ++j) {
      Bands sum = all(0);
      for (int k = j; k < n; ++k) sum = sum + f.m[i][k] * l.m[k][j];
      fl.m[i][j] = sum;
    }
  }
  Matrix<Count> product;
  for (int i = 0; i < n; ++i) {
    for (int j = i; j < n; ++j) {
      Bands sum = all(0);
      for (int k = i; k < n; ++k) sum = sum + l.m[k][i] * fl.m[k][j];
      product.m[i][j] = sum;
    }
  }
  Matrix<Count> v;
  eigen_of_symmetric(n, product, v);
  for (int mode = 0; mode < n; ++mode) {
    store(hn::Sqrt(hn::Max(product.m[mode][mode], all(0))),
          row(task.modes, 2 * n * n + mode) + band);
    for (int i = 0; i < n; ++i) {
      Bands sum = all(0);
      for (int k = 0; k <= i; ++k) sum = sum + l.m[i][k] * v.m[k][mode];
      store(sum, row(task.modes, n * n + i * n + mode) + band);
    }
    for (int i = n - 1; i >= 0; --i) {
      Bands rest = v.m[i][mode];
      for (int k = i + 1; k < n; ++k) rest = rest - l.m[k][i] * v.m[k][mode];
      v.m[i][mode] = rest / l.m[i][i];
      store(v.m[i][mode], row(task.modes, i * n + mode) + band);
    }
  }
}

// Light that falls alike on both sides of a layer sees R + T, light of opposite sign R − T.
template <class Count>
HWY_INLINE void layer_of_bands(Count n, const ModesLayer& layer, std::size_t band,
                               Matrix<Count>& reflection, Matrix<Count>& transmission) {
  Bands rising[Count::most];   // λ tanh(λ d/2)
  Bands falling[Count::most];  // tanh(λ d/2) / λ
  const Modes& modes = *layer.modes;
  for (int mode = 0; mode < n; ++mode) {
    const Bands lambda = load(row(modes, 2 * n * n + mode) + band);
    falling[mode] = tanh_ratio(lambda, all(layer.thickness_mm / 2));
    rising[mode] = lambda * lambda * falling[mode];
  }
  const auto gather = [&](int first, const Bands(&decay)[Count::most], Matrix<Count>& to) HWY_ATTR {
    for (int i = 0; i < n; ++i) {
      for (int j = i; j < n; ++j) {
        Bands sum = all(i == j ? 1 : 0);
        for (int mode = 0; mode < n; ++mode) {
          sum = sum + load(row(modes, first + i * n + mode) + band) * decay[mode] *
                          load(row(modes, first + j * n + mode) + band);
        }
        to.m[i][j] = sum;
        to.m[j][i] = sum;
      }
    }
    invert(n, to);
  };
  gather(0, rising, reflection);
  gather(n * n, falling, transmission);
  for (int i = 0; i < n; ++i) {
    for (int j = 0; j < n; ++j) {
      const Bands alike = reflection.m[i][j];
      const Bands opposite = transmission.m[i][j];
      reflection.m[i][j] = alike - opposite;
      transmission.m[i][j] = alike + opposite - all(i == j ? 1 : 0);
    }
  }
}

// A layer on a floor that reflects evenly: below = ρ f fᵀ.
template <class Count>
HWY_INLINE void cover_even_floor(Count n, const double* flux, Bands floor,
                                 const Matrix<Count>& reflection, const Matrix<Count>& transmission,
                                 Matrix<Count>& below) {
  Bands up[Count::most];
  Bands returned = all(0);
  for (int i = 0; i < n; ++i) {
    up[i] = all(0);
    for (int j = 0; j < n; ++j) {
      up[i] = up[i] + transmission.m[i][j] * all(flux[j]);
      returned = returned + all(flux[i] * flux[j]) * reflection.m[i][j];
    }
  }
  const Bands gain = floor / (all(1) - floor * returned);
  for (int i = 0; i < n; ++i) {
    for (int j = 0; j < n; ++j) below.m[i][j] = reflection.m[i][j] + gain * up[i] * up[j];
  }
}

// What a smooth face over air and a floor of reflectance `floor` sends back: Fresnel's reflection
// of each stream, and what comes back even through the face.
template <class Count>
HWY_INLINE void air_gap(Count n, const Ordinates& ordinates, Bands floor, Matrix<Count>& below) {
  const double n2 = ordinates.refractive_index * ordinates.refractive_index;
  const Bands gain = all(n2) * floor / (all(1) - floor * all(ordinates.outer_diffuse));
  const auto open = [&](int i) {
    const auto at = static_cast<std::size_t>(i);
    return ordinates.flux[at] * (1 - ordinates.inner[at]);
  };
  for (int i = 0; i < n; ++i) {
    for (int j = 0; j < n; ++j) {
      below.m[i][j] = gain * all(open(i) * open(j)) +
                      all(i == j ? ordinates.inner[static_cast<std::size_t>(i)] : 0);
    }
  }
}

// R + T B (1 − R B)⁻¹ T in place of B.
template <class Count>
HWY_INLINE void cover(Count n, const Matrix<Count>& reflection, Matrix<Count>& transmission,
                      Matrix<Count>& below) {
  Matrix<Count> between;
  for (int i = 0; i < n; ++i) {
    for (int j = 0; j < n; ++j) {
      Bands sum = all(i == j ? 1 : 0);
      for (int k = 0; k < n; ++k) sum = sum - reflection.m[i][k] * below.m[k][j];
      between.m[i][j] = sum;
    }
  }
  Matrix<Count> down = transmission;
  eliminate(n, n, between, down);
  for (int i = 0; i < n; ++i) {
    for (int j = 0; j < n; ++j) {
      Bands sum = all(0);
      for (int k = 0; k < n; ++k) sum = sum + below.m[i][k] * down.m[k][j];
      between.m[i][j] = sum;
    }
  }
  for (int i = 0; i < n; ++i) {
    for (int j = i; j < n; ++j) {
      Bands sum = reflection.m[i][j];
      for (int k = 0; k < n; ++k) sum = sum + transmission.m[i][k] * between.m[k][j];
      below.m[i][j] = sum;
      below.m[j][i] = sum;
    }
  }
}

template <class Count>
void stack_of_bands(Count n, const StackTask& task, std::size_t band) {
  const Ordinates& ordinates = task.ordinates;
  Matrix<Count> below;
  Matrix<Count> reflection;
  Matrix<Count> transmission;
  for (std::size_t i = 0; i < task.layers.size(); ++i) {
    layer_of_bands(n, task.layers[i], band, reflection, transmission);
    if (i == 0 && task.under == Under::air) {
      air_gap(n, ordinates, load(task.floor + band), below);
      cover(n, reflection, transmission, below);
    } else if (i == 0) {
      cover_even_floor(n, ordinates.flux.data(), load(task.floor + band), reflection, transmission,
                       below);
    } else {
      cover(n, reflection, transmission, below);
    }
  }
  Column<Count> down;
  for (int i = 0; i < n; ++i) {
    const Bands inner = all(ordinates.inner[static_cast<std::size_t>(i)]);
    for (int j = 0; j < n; ++j) {
      reflection.m[i][j] = all(i == j ? 1 : 0) - inner * below.m[i][j];
    }
    down.m[i][0] = all(ordinates.light[static_cast<std::size_t>(i)]);
  }
  eliminate(n, 1, reflection, down);
  const std::size_t normal = ordinates.normal;
  Bands up = all(0);
  for (int j = 0; j < n; ++j) up = up + below.m[normal][j] * down.m[j][0];
  const double scale = (1 - ordinates.k1) /
                       (ordinates.refractive_index * ordinates.refractive_index) /
                       ordinates.flux[normal];
  store(all(scale) * up, task.factor + band);
}

// With D the reflection of the faces from inside, light goes down through the upper face as
// a = (1 − D R′)⁻¹ of what enters, R′ being the layer on its lower face, and arrives at the lower
// face as (1 − R D)⁻¹ T a.
template <class Count>
void transmission_of_bands(Count n, const TransmissionTask& task, std::size_t band) {
  const Ordinates& ordinates = task.ordinates;
  const bool smooth = task.lower_face == Face::smooth;
  const double even =
      1 - (1 - ordinates.outer_diffuse) / (ordinates.refractive_index * ordinates.refractive_index);
  Matrix<Count> reflection;
  Matrix<Count> transmission;
  layer_of_bands(n, task.layer, band, reflection, transmission);
  Matrix<Count> face;
  Matrix<Count> between;
  const auto flux = [&](int i) { return ordinates.flux[static_cast<std::size_t>(i)]; };
  if (smooth) {
    air_gap(n, ordinates, all(0), face);
  } else {
    for (int i = 0; i < n; ++i) {
      for (int j = 0; j < n; ++j) face.m[i][j] = all(even * flux(i) * flux(j));
    }
  }
  for (int i = 0; i < n; ++i) {
    for (int j = 0; j < n; ++j) {
      Bands sum = all(i == j ? 1 : 0);
      for (int k = 0; k < n; ++k) sum = sum - reflection.m[i][k] * face.m[k][j];
      between.m[i][j] = sum;
    }
  }
  Matrix<Count> passed = transmission;  // (1 − R D)⁻¹ T
  eliminate(n, n, between, passed);
  cover(n, reflection, transmission, face);
  Column<Count> down;
  for (int i = 0; i < n; ++i) {
    const Bands inner = all(ordinates.inner[static_cast<std::size_t>(i)]);
    for (int j = 0; j < n; ++j) between.m[i][j] = all(i == j ? 1 : 0) - inner * face.m[i][j];
    down.m[i][0] = all(ordinates.normal_beam[static_cast<std::size_t>(i)]);
  }
  eliminate(n, 1, between, down);
  Bands leaving = all(0);
  for (int i = 0; i < n; ++i) {
    Bands arriving = all(0);
    for (int j = 0; j < n; ++j) arriving = arriving + passed.m[i][j] * down.m[j][0];
    const double through = smooth ? 1 - ordinates.inner[static_cast<std::size_t>(i)] : 1 - even;
    leaving = leaving + all(through * flux(i)) * arriving;
  }
  store(leaving, task.share + band);
}

template <class Count>
void matrices_of_bands(Count n, const MatricesTask& task) {
  Matrix<Count> reflection;
  Matrix<Count> transmission;
  layer_of_bands(n, task.layer, 0, reflection, transmission);
  for (int i = 0; i < n; ++i) {
    for (int j = 0; j < n; ++j) {
      const auto at = (static_cast<std::size_t>(i) * static_cast<std::size_t>(n) +
                       static_cast<std::size_t>(j)) *
                      band_padding;
      store(reflection.m[i][j], task.reflection + at);
      store(transmission.m[i][j], task.transmission + at);
    }
  }
}

// With f the flux of even light, D the surface's reflection and R, T the layer's matrices, light
// that comes in from outside goes down as (1 − D R)⁻¹ of itself, and light T f of an even floor
// that the surface sends back as (1 − D R)⁻¹ D T f.
template <class Count>
void one_stream_of_bands(Count n, const OneStreamTask& task, std::size_t band) {
  const Ordinates& ordinates = task.ordinates;
  Matrix<Count> reflection;
  Matrix<Count> transmission;
  layer_of_bands(n, task.layer, band, reflection, transmission);
  Matrix<Count> between;
  TwoColumns<Count> down;
  Bands up[Count::most];  // T f
  Bands reflected = all(0);
  Bands transmitted = all(0);
  for (int i = 0; i < n; ++i) {
    const auto at = static_cast<std::size_t>(i);
    const Bands inner = all(ordinates.inner[at]);
    Bands row_up = all(0);
    Bands row_back = all(0);
    for (int j = 0; j < n; ++j) {
      const Bands flux = all(ordinates.flux[static_cast<std::size_t>(j)]);
      row_up = row_up + transmission.m[i][j] * flux;
      row_back = row_back + reflection.m[i][j] * flux;
      between.m[i][j] = all(i == j ? 1 : 0) - inner * reflection.m[i][j];
    }
    up[i] = row_up;
    transmitted = transmitted + all(ordinates.flux[at]) * row_up;
    reflected = reflected + all(ordinates.flux[at]) * row_back;
    down.m[i][0] = all(ordinates.light[at]);
    down.m[i][1] = inner * row_up;
  }
  eliminate(n, 2, between, down);
  const std::size_t normal = ordinates.normal;
  Bands black = all(0);
  Bands falling = all(0);  // on the floor, of the light outside
  Bands back = reflected;
  Bands seen = up[normal];
  for (int j = 0; j < n; ++j) {
    black = black + reflection.m[normal][j] * down.m[j][0];
    seen = seen + reflection.m[normal][j] * down.m[j][1];
    falling = falling + up[j] * down.m[j][0];
    back = back + up[j] * down.m[j][1];
  }
  const Bands scale =
      all((1 - ordinates.k1) / (ordinates.refractive_index * ordinates.refractive_index) /
          ordinates.flux[normal]);
  store(reflected, task.reflected + band);
  store(transmitted, task.transmitted + band);
  store(scale * black, task.black + band);
  store(scale * seen * falling, task.gain + band);
  store(back, task.back + band);
}

// The work with the number of streams known to the compiler where it is a usual one.
template <class Work>
HWY_INLINE void with_count(std::size_t streams, const Work& work) {
  switch (streams) {
    case 4:
      return work(Fixed<4>());
    case 6:
      return work(Fixed<6>());
    case 8:
      return work(Fixed<8>());
    default:
      return work(Varying{static_cast<int>(streams)});
  }
}

void modes_kernel(const ModesTask& task) {
  with_count(task.ordinates.size(), [&](auto count) HWY_ATTR {
    for (std::size_t band = 0; band < task.modes.pitch; band += hn::Lanes(Tag())) {
      modes_of_bands(count, task, band);
    }
  });
}

void stack_kernel(const StackTask& task) {
  with_count(task.ordinates.size(), [&](auto count) HWY_ATTR {
    for (std::size_t band = 0; band < task.pitch; band += hn::Lanes(Tag())) {
      stack_of_bands(count, task, band);
    }
  });
}

void one_stream_kernel(const OneStreamTask& task) {
  with_count(task.ordinates.size(), [&](auto count) HWY_ATTR {
    for (std::size_t band = 0; band < task.layer.modes->pitch; band += hn::Lanes(Tag())) {
      one_stream_of_bands(count, task, band);
    }
  });
}

void transmission_kernel(const TransmissionTask& task) {
  with_count(task.ordinates.size(), [&](auto count) HWY_ATTR {
    for (std::size_t band = 0; band < task.layer.modes->pitch; band += hn::Lanes(Tag())) {
      transmission_of_bands(count, task, band);
    }
  });
}

void matrices_kernel(const MatricesTask& task) {
  with_count(task.layer.modes->streams,
             [&](auto count) HWY_ATTR { matrices_of_bands(count, task); });
}

}  // namespace HWY_NAMESPACE
}  // namespace mamelon::detail
HWY_AFTER_NAMESPACE();

#if HWY_ONCE
namespace mamelon::detail {

HWY_EXPORT(modes_kernel);
HWY_EXPORT(stack_kernel);
HWY_EXPORT(matrices_kernel);
HWY_EXPORT(transmission_kernel);
HWY_EXPORT(one_stream_kernel);

namespace {

std::size_t padded(std::size_t bands) {
  return (bands + band_padding - 1) / band_padding * band_padding;
}

}  // namespace

Modes modes_of(const Ordinates& ordinates, std::span<const double> absorption,
               std::span<const double> reduced_scattering, double anisotropy) {
  const Phase phase(ordinates, anisotropy);
  const std::size_t n = ordinates.size();
  Modes modes{n, absorption.size(), padded(absorption.size()), {}};
  modes.rows.resize((2 * n * n + n) * modes.pitch);
  std::vector<double> scattering;
  std::vector<double> extinction;
  for (std::size_t i = 0; i < modes.pitch; ++i) {
    const std::size_t band = std::min(i, modes.bands - 1);
    scattering.push_back(reduced_scattering[band] / (1 - anisotropy) * (1 - phase.peak));
    // A clear layer keeps modes of a next to endless decay.
    extinction.push_back(std::max(absorption[band] + scattering.back(), 1e-10));
  }
  HWY_DYNAMIC_DISPATCH(modes_kernel)
  (ModesTask{ordinates, phase, scattering.data(), extinction.data(), modes});
  return modes;
}

std::vector<double> normal_factors(const Ordinates& ordinates, std::span<const double> floor,
                                   std::span<const ModesLayer> layers, Under under) {
  const std::size_t pitch = padded(floor.size());
  std::vector<double> below(floor.begin(), floor.end());
  below.resize(pitch);
  std::vector<double> factor(pitch);
  HWY_DYNAMIC_DISPATCH(stack_kernel)
  (StackTask{ordinates, layers, below.data(), factor.data(), pitch, under});
  factor.resize(floor.size());
  return factor;
}

std::vector<double> normal_transmittances(const Ordinates& ordinates, const ModesLayer& layer,
                                          Face lower_face) {
  std::vector<double> share(layer.modes->pitch);
  HWY_DYNAMIC_DISPATCH(transmission_kernel)
  (TransmissionTask{ordinates, layer, lower_face, share.data()});
  share.resize(layer.modes->bands);
  return share;
}

OneStream one_stream_of(const Ordinates& ordinates, const ModesLayer& layer) {
  OneStream one;
  const std::size_t pitch = layer.modes->pitch;
  for (std::vector<double>* row :
       {&one.reflected, &one.transmitted, &one.black, &one.gain, &one.back}) {
    row->resize(pitch);
  }
  HWY_DYNAMIC_DISPATCH(one_stream_kernel)
  (OneStreamTask{ordinates, layer, one.reflected.data(), one.transmitted.data(), one.black.data(),
                 one.gain.data(), one.back.data()});
  for (std::vector<double>* row :
       {&one.reflected, &one.transmitted, &one.black, &one.gain, &one.back}) {
    row->resize(layer.modes->bands);
  }
  return one;
}

LayerMatrices layer_matrices(const ModesLayer& layer) {
  const std::size_t n = layer.modes->streams;
  std::vector<double> reflection(n * n * band_padding);
  std::vector<double> transmission(reflection.size());
  HWY_DYNAMIC_DISPATCH(matrices_kernel)
  (MatricesTask{layer, reflection.data(), transmission.data()});
  LayerMatrices matrices;
  for (std::size_t i = 0; i < n * n; ++i) {
    matrices.reflection.push_back(reflection[i * band_padding]);
    matrices.transmission.push_back(transmission[i * band_padding]);
  }
  return matrices;
}

}  // namespace mamelon::detail
#endif  // HWY_ONCE
