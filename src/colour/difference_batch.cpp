#include <algorithm>
#include <cmath>
#include <limits>
#include <string>
#include <vector>

#include "mamelon/batch.h"
#include "mamelon/error.h"

#include "base/parallel.h"
#include "colour/batch_kernels.h"

#undef HWY_TARGET_INCLUDE
#define HWY_TARGET_INCLUDE "colour/difference_batch.cpp"
#include "hwy/foreach_target.h"
#include "hwy/highway.h"
// The kernels follow the instruction set.
#include "colour/difference-inl.h"
#include "colour/lab_tile-inl.h"
#include "colour/nearest-inl.h"

HWY_BEFORE_NAMESPACE();
namespace mamelon::detail {
namespace HWY_NAMESPACE {

template <class T>
Weighting<T> weighting_of(const DifferenceWeights& weights) {
  return {static_cast<T>(weights.kl), static_cast<T>(weights.kc), static_cast<T>(weights.kh)};
}

template <class T>
void rows_kernel(const RowsTask<T>& task, std::size_t begin, std::size_t end) {
  const Weighting<T> weighting = weighting_of<T>(task.weights);
  Work<T> work;
  LabTile<T> reference;
  LabTile<T> sample;
  Column<T> last;
  for (std::size_t i = begin; i < end; i += tile_size<T>) {
    const std::size_t count = std::min(tile_size<T>, end - i);
    const std::size_t whole = whole_vectors<T>(count);
    const bool direct = whole == count;
    T* de = direct ? task.de + i : last.values;
    const Many<T> ref = reference.load(task.reference, i, count);
    const Many<T> smp = sample.load(task.sample, i, count);
    difference_tile<T>(ref, smp, weighting, task.squared, work, de, whole);
    if (!direct) std::copy_n(last.values, count, task.de + i);
  }
}

// One row with a tile of columns at a time, or, where the columns do not fill a tile, one column
// with a tile of rows: the difference is symmetric to the bit.
template <class T>
void table_kernel(const RowsTask<T>& task, std::size_t begin, std::size_t end) {
  const Weighting<T> weighting = weighting_of<T>(task.weights);
  const std::size_t columns = task.sample.size();
  const bool wide = columns >= tile_size<T>;
  const std::vector<One<T>> ones =
      wide ? single_colours(task.reference, begin, end) : single_colours(task.sample, 0, columns);
  Work<T> work;
  LabTile<T> tile;
  Column<T> de;
  const std::size_t first = wide ? 0 : begin;
  const std::size_t last = wide ? columns : end;
  for (std::size_t i = first; i < last; i += tile_size<T>) {
    const std::size_t count = std::min(tile_size<T>, last - i);
    const Many<T> many = tile.load(wide ? task.sample : task.reference, i, count);
    for (std::size_t j = 0; j < ones.size(); ++j) {
      difference_tile<T>(many, ones[j], weighting, task.squared, work, de.values,
                         whole_vectors<T>(count));
      if (wide) {
        std::copy_n(de.values, count, task.de + (begin + j) * columns + i);
      } else {
        for (std::size_t k = 0; k < count; ++k) task.de[(i + k) * columns + j] = de.values[k];
      }
    }
  }
}

template <class T>
void nearest_kernel(const NearestTask<T>& task, std::size_t begin, std::size_t end) {
  const Weighting<T> weighting = weighting_of<T>(task.weights);
  const std::vector<Candidate<T>> candidates = candidates_of(task.candidates, weighting);
  NearestWork<T> work;
  LabTile<T> tile;
  for (std::size_t i = begin; i < end; i += tile_size<T>) {
    const std::size_t count = std::min(tile_size<T>, end - i);
    nearest_tile<T>(tile.load(task.colours, i, count), candidates, weighting, task.squared, work,
                    count, task.index + i, task.de + i);
  }
}

template <class T>
void de76_kernel(const RowsTask<T>& task, std::size_t begin, std::size_t end) {
  const hn::ScalableTag<T> d;
  LabTile<T> reference;
  LabTile<T> sample;
  Column<T> de;
  for (std::size_t i = begin; i < end; i += tile_size<T>) {
    const std::size_t count = std::min(tile_size<T>, end - i);
    const Many<T> ref = reference.columns(task.reference, i, count);
    const Many<T> smp = sample.columns(task.sample, i, count);
    for (std::size_t j = 0; j < count; j += hn::Lanes(d)) {
      const auto dl = hn::Sub(hn::LoadU(d, smp.l + j), hn::LoadU(d, ref.l + j));
      const auto da = hn::Sub(hn::LoadU(d, smp.a + j), hn::LoadU(d, ref.a + j));
      const auto db = hn::Sub(hn::LoadU(d, smp.b + j), hn::LoadU(d, ref.b + j));
      const auto sum = multiply_add(d, db, db, multiply_add(d, da, da, hn::Mul(dl, dl)));
      hn::Store(task.squared ? sum : hn::Sqrt(sum), d, de.values + j);
    }
    std::copy_n(de.values, count, task.de + i);
  }
}

#define MAMELON_KERNELS(kernel, Task)                                                  \
  void kernel##_float(const Task<float>& task, std::size_t begin, std::size_t end) {   \
    kernel(task, begin, end);                                                          \
  }                                                                                    \
  void kernel##_double(const Task<double>& task, std::size_t begin, std::size_t end) { \
    kernel(task, begin, end);                                                          \
  }
MAMELON_KERNELS(rows_kernel, RowsTask)
MAMELON_KERNELS(table_kernel, RowsTask)
MAMELON_KERNELS(nearest_kernel, NearestTask)
MAMELON_KERNELS(de76_kernel, RowsTask)
#undef MAMELON_KERNELS

}  // namespace HWY_NAMESPACE
}  // namespace mamelon::detail
HWY_AFTER_NAMESPACE();

#if HWY_ONCE
namespace mamelon {
namespace detail {
namespace {

HWY_EXPORT(rows_kernel_float);
HWY_EXPORT(rows_kernel_double);
HWY_EXPORT(table_kernel_float);
HWY_EXPORT(table_kernel_double);
HWY_EXPORT(nearest_kernel_float);
HWY_EXPORT(nearest_kernel_double);
HWY_EXPORT(de76_kernel_float);
HWY_EXPORT(de76_kernel_double);

#define MAMELON_DISPATCH(kernel, Task)                                        \
  void kernel(const Task<float>& task, std::size_t begin, std::size_t end) {  \
    HWY_DYNAMIC_DISPATCH(kernel##_float)(task, begin, end);                   \
  }                                                                           \
  void kernel(const Task<double>& task, std::size_t begin, std::size_t end) { \
    HWY_DYNAMIC_DISPATCH(kernel##_double)(task, begin, end);                  \
  }
MAMELON_DISPATCH(rows_kernel, RowsTask)
MAMELON_DISPATCH(table_kernel, RowsTask)
MAMELON_DISPATCH(nearest_kernel, NearestTask)
MAMELON_DISPATCH(de76_kernel, RowsTask)
#undef MAMELON_DISPATCH

constexpr std::size_t rows_a_chunk = 16384;

}  // namespace

void check_weights(const DifferenceWeights& weights) {
  for (const double k : {weights.kl, weights.kc, weights.kh}) {
    if (!(k > 0) || !std::isfinite(k)) {
      throw ArgumentError(
          "the weights kl, kc, kh of a colour difference must be positive and "
          "finite; one is " +
          std::to_string(k));
    }
  }
}

void check_size(const char* what, std::size_t is, std::size_t should_be) {
  if (is != should_be) {
    throw ArgumentError(std::string(what) + " has " + std::to_string(is) + " rows; it must have " +
                        std::to_string(should_be));
  }
}

}  // namespace detail

template <class T>
LabRows<T> LabRows<T>::interleaved(std::span<const T> lab) {
  if (lab.size() % 3 != 0) {
    throw ArgumentError("interleaved CIELAB values must be a multiple of 3; there are " +
                        std::to_string(lab.size()));
  }
  LabRows rows;
  rows.size_ = lab.size() / 3;
  rows.interleaved_ = true;
  if (!lab.empty()) rows.columns_ = {lab.data(), lab.data() + 1, lab.data() + 2};
  return rows;
}

template <class T>
LabRows<T> LabRows<T>::columns(std::span<const T> l, std::span<const T> a, std::span<const T> b) {
  detail::check_size("the column of a*", a.size(), l.size());
  detail::check_size("the column of b*", b.size(), l.size());
  LabRows rows;
  rows.size_ = l.size();
  rows.columns_ = {l.data(), a.data(), b.data()};
  return rows;
}

template <class T>
void de00_rows(const LabRows<T>& reference, const LabRows<T>& sample, std::span<T> de,
               const BatchOptions& options) {
  detail::check_weights(options.weights);
  detail::check_size("the sample", sample.size(), reference.size());
  detail::check_size("the result", de.size(), reference.size());
  const detail::RowsTask<T> task{reference, sample, options.weights, options.squared, de.data()};
  detail::parallel_for(
      de.size(), detail::rows_a_chunk,
      [&task](std::size_t begin, std::size_t end) { detail::rows_kernel(task, begin, end); },
      options.threads);
}

template <class T>
void de00_table(const LabRows<T>& rows, const LabRows<T>& columns, std::span<T> de,
                const BatchOptions& options) {
  detail::check_weights(options.weights);
  detail::check_size("the table", de.size(), rows.size() * columns.size());
  if (de.empty()) return;
  const detail::RowsTask<T> task{rows, columns, options.weights, options.squared, de.data()};
  const std::size_t chunk = std::max<std::size_t>(1, 4 * detail::rows_a_chunk / columns.size());
  detail::parallel_for(
      rows.size(), chunk,
      [&task](std::size_t begin, std::size_t end) { detail::table_kernel(task, begin, end); },
      options.threads);
}

template <class T>
void nearest_rows(const LabRows<T>& colours, const LabRows<T>& candidates,
                  std::span<std::uint32_t> index, std::span<T> de, const BatchOptions& options) {
  detail::check_weights(options.weights);
  if (candidates.size() == 0) throw ArgumentError("there must be at least one candidate colour");
  detail::check_size("the index", index.size(), colours.size());
  detail::check_size("the result", de.size(), colours.size());
  const detail::NearestTask<T> task{colours,         candidates,   options.weights,
                                    options.squared, index.data(), de.data()};
  detail::parallel_for(
      de.size(), detail::rows_a_chunk / 2,
      [&task](std::size_t begin, std::size_t end) { detail::nearest_kernel(task, begin, end); },
      options.threads);
}

template <class T>
void de76_rows(const LabRows<T>& reference, const LabRows<T>& sample, std::span<T> de,
               const BatchOptions& options) {
  detail::check_size("the sample", sample.size(), reference.size());
  detail::check_size("the result", de.size(), reference.size());
  const detail::RowsTask<T> task{reference, sample, options.weights, options.squared, de.data()};
  detail::parallel_for(
      de.size(), detail::rows_a_chunk,
      [&task](std::size_t begin, std::size_t end) { detail::de76_kernel(task, begin, end); },
      options.threads);
}

#define MAMELON_INSTANTIATE(T)                                                               \
  template class LabRows<T>;                                                                 \
  template void de00_rows(const LabRows<T>&, const LabRows<T>&, std::span<T>,                \
                          const BatchOptions&);                                              \
  template void de00_table(const LabRows<T>&, const LabRows<T>&, std::span<T>,               \
                           const BatchOptions&);                                             \
  template void nearest_rows(const LabRows<T>&, const LabRows<T>&, std::span<std::uint32_t>, \
                             std::span<T>, const BatchOptions&);                             \
  template void de76_rows(const LabRows<T>&, const LabRows<T>&, std::span<T>, const BatchOptions&);
MAMELON_INSTANTIATE(float)
MAMELON_INSTANTIATE(double)
#undef MAMELON_INSTANTIATE

}  // namespace mamelon
#endif  // HWY_ONCE
