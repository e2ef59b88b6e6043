// Tiles of colours for the kernels of CIEDE2000; included once for every instruction set.

#include <algorithm>
#include <cstddef>
#include <vector>

#include "colour/batch_kernels.h"
#include "hwy/highway.h"

#if defined(MAMELON_COLOUR_LAB_TILE_INL_H_) == defined(HWY_TARGET_TOGGLE)
#ifdef MAMELON_COLOUR_LAB_TILE_INL_H_
#undef MAMELON_COLOUR_LAB_TILE_INL_H_
#else
#define MAMELON_COLOUR_LAB_TILE_INL_H_
#endif

#include "colour/difference-inl.h"

HWY_BEFORE_NAMESPACE();
namespace mamelon::detail {
namespace HWY_NAMESPACE {
namespace hn = hwy::HWY_NAMESPACE;

// `count` rounded up to whole vectors.
template <class T>
HWY_INLINE std::size_t whole_vectors(std::size_t count) {
  const std::size_t lanes = hn::Lanes(hn::ScalableTag<T>());
  return (count + lanes - 1) / lanes * lanes;
}

// A tile of colours as columns with their chroma. Columns in memory are used where they are, except
// at the end, where a vector would reach past them.
template <class T>
class LabTile {
 public:
  HWY_INLINE Many<T> load(const LabRows<T>& rows, std::size_t first, std::size_t count) {
    const Many<T> many = columns(rows, first, count);
    chroma_pass(many.a, many.b, chroma_.values, whole_vectors<T>(count));
    return many;
  }
  // The same without chroma.
  HWY_INLINE Many<T> columns(const LabRows<T>& rows, std::size_t first, std::size_t count) {
    const hn::ScalableTag<T> d;
    const std::size_t lanes = hn::Lanes(d);
    if (!rows.is_interleaved() && count % lanes == 0) {
      return {rows.column(0) + first, rows.column(1) + first, rows.column(2) + first,
              chroma_.values};
    }
    const std::size_t stride = rows.is_interleaved() ? 3 : 1;
    std::size_t i = 0;
    if (rows.is_interleaved()) {
      const T* source = rows.column(0) + 3 * first;
      for (; i + lanes <= count; i += lanes) {
        hn::Vec<decltype(d)> l;
        hn::Vec<decltype(d)> a;
        hn::Vec<decltype(d)> b;
        hn::LoadInterleaved3(d, source + 3 * i, l, a, b);
        hn::Store(l, d, l_.values + i);
        hn::Store(a, d, a_.values + i);
        hn::Store(b, d, b_.values + i);
      }
    }
    for (; i < count; ++i) {
      l_.values[i] = rows.column(0)[stride * (first + i)];
      a_.values[i] = rows.column(1)[stride * (first + i)];
      b_.values[i] = rows.column(2)[stride * (first + i)];
    }
    for (; i < whole_vectors<T>(count); ++i) l_.values[i] = a_.values[i] = b_.values[i] = 0;
    return own();
  }
  // A tile whose columns the caller fills.
  HWY_INLINE T* l() { return l_.values; }
  HWY_INLINE T* a() { return a_.values; }
  HWY_INLINE T* b() { return b_.values; }
  HWY_INLINE Many<T> filled(std::size_t count) {
    chroma_pass(a_.values, b_.values, chroma_.values, whole_vectors<T>(count));
    return own();
  }

 private:
  HWY_INLINE Many<T> own() const { return {l_.values, a_.values, b_.values, chroma_.values}; }
  Column<T> l_, a_, b_, chroma_;
};

// Colours [begin, end) to be broadcast one by one, their chroma as the kernel has it.
template <class T>
std::vector<One<T>> single_colours(const LabRows<T>& rows, std::size_t begin, std::size_t end) {
  std::vector<One<T>> colours;
  colours.reserve(end - begin);
  LabTile<T> tile;
  for (std::size_t i = begin; i < end; i += tile_size<T>) {
    const std::size_t count = std::min(tile_size<T>, end - i);
    const Many<T> many = tile.load(rows, i, count);
    for (std::size_t j = 0; j < count; ++j) {
      colours.push_back({many.l[j], many.a[j], many.b[j], many.chroma[j]});
    }
  }
  return colours;
}

}  // namespace HWY_NAMESPACE
}  // namespace mamelon::detail
HWY_AFTER_NAMESPACE();

#endif
