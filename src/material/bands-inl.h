// Arithmetic of many bands at once; included once for every instruction set. Every operation is one
// that IEEE 754 fixes to the bit and none is fused, so that all instruction sets agree.

#include <cstdint>

#include "hwy/highway.h"

#if defined(MAMELON_MATERIAL_BANDS_INL_H_) == defined(HWY_TARGET_TOGGLE)
#ifdef MAMELON_MATERIAL_BANDS_INL_H_
#undef MAMELON_MATERIAL_BANDS_INL_H_
#else
#define MAMELON_MATERIAL_BANDS_INL_H_
#endif

HWY_BEFORE_NAMESPACE();
namespace mamelon::detail {
namespace HWY_NAMESPACE {
namespace hn = hwy::HWY_NAMESPACE;

using Tag = hn::ScalableTag<double>;

// A vector of bands.
using Bands = hn::Vec<Tag>;
HWY_INLINE Bands all(double value) {
  return hn::Set(Tag(), value);
}
HWY_INLINE Bands load(const double* from) {
  return hn::LoadU(Tag(), from);
}
HWY_INLINE void store(Bands value, double* to) {
  hn::StoreU(value, Tag(), to);
}

// e^x − 1 for x ≤ 0, to a relative 1e-15 or so also at small x.
HWY_INLINE Bands expm1_of_negative(Bands x) {
  x = hn::Max(x, all(-600));
  // Adding 1.5·2^52 leaves the nearest whole number of halvings in the lowest bits.
  const Bands shift = all(6755399441055744.0);
  const Bands shifted = x * all(1.4426950408889634) + shift;
  const Bands halvings = shifted - shift;
  const Bands r =
      (x - halvings * all(0.693147180369123816490)) - halvings * all(1.90821492927058770002e-10);
  // Taylor's series of (e^r − 1 − r)/r² for |r| ≤ ln 2 / 2; the next term is below 1e-17.
  Bands sum = all(1.0 / 6227020800);
  for (const double coefficient :
       {1.0 / 479001600, 1.0 / 39916800, 1.0 / 3628800, 1.0 / 362880, 1.0 / 40320, 1.0 / 5040,
        1.0 / 720, 1.0 / 120, 1.0 / 24, 1.0 / 6, 1.0 / 2}) {
    sum = sum * r + all(coefficient);
  }
  const Bands part = r * r * sum + r;
  const hn::RebindToUnsigned<Tag> bits;
  const Bands power = hn::BitCast(Tag(), hn::Add(hn::ShiftLeft<52>(hn::BitCast(bits, shifted)),
                                                 hn::Set(bits, std::uint64_t{0x3FF0000000000000})));
  return power * part + (power - all(1));
}

// tanh(λh)/λ for λ ≥ 0 and h > 0.
HWY_INLINE Bands tanh_ratio(Bands lambda, Bands h) {
  const Bands x = lambda * h;
  const Bands e = expm1_of_negative(all(-2) * x);
  const Bands closed = (all(0) - e) / ((all(2) + e) * hn::Max(lambda, all(1e-300)));
  const Bands series = h * (all(1) - x * x * all(1.0 / 3));
  return hn::IfThenElse(hn::Lt(x, all(1e-4)), series, closed);
}

// The number of streams is known to the compiler for the usual ones, or an int.
template <int n>
struct Fixed {
  HWY_INLINE constexpr operator int() const { return n; }
  static constexpr int most = n;
};
struct Varying {
  int n;
  HWY_INLINE operator int() const { return n; }
  static constexpr int most = 33;
};

template <class Count>
struct Matrix {
  Bands m[Count::most][Count::most];
};

// Inverse of a symmetric positive definite matrix, in place (Gauss and Jordan, no pivots needed).
template <class Count>
HWY_INLINE void invert(Count n, Matrix<Count>& a) {
  for (int k = 0; k < n; ++k) {
    const Bands pivot = all(1) / a.m[k][k];
    for (int i = 0; i < n; ++i) {
      if (i == k) continue;
      const Bands factor = a.m[i][k] * pivot;
      for (int j = 0; j < n; ++j) {
        if (j != k) a.m[i][j] = a.m[i][j] - factor * a.m[k][j];
      }
      a.m[i][k] = all(0) - factor;
    }
    for (int j = 0; j < n; ++j) {
      if (j != k) a.m[k][j] = a.m[k][j] * pivot;
    }
    a.m[k][k] = pivot;
  }
}

// a⁻¹ b in place of b, with `columns` of it. Gauss's elimination without pivots: 1 less a product
// of reflections is an M-matrix.
template <class Count, class Columns, class Right>
HWY_INLINE void eliminate(Count n, Columns columns, Matrix<Count>& a, Right& b) {
  for (int k = 0; k < n; ++k) {
    const Bands pivot = all(1) / a.m[k][k];
    for (int j = k + 1; j < n; ++j) a.m[k][j] = a.m[k][j] * pivot;
    for (int j = 0; j < columns; ++j) b.m[k][j] = b.m[k][j] * pivot;
    for (int i = k + 1; i < n; ++i) {
      const Bands factor = a.m[i][k];
      for (int j = k + 1; j < n; ++j) a.m[i][j] = a.m[i][j] - factor * a.m[k][j];
      for (int j = 0; j < columns; ++j) b.m[i][j] = b.m[i][j] - factor * b.m[k][j];
    }
  }
  for (int k = n - 1; k > 0; --k) {
    for (int i = 0; i < k; ++i) {
      for (int j = 0; j < columns; ++j) b.m[i][j] = b.m[i][j] - a.m[i][k] * b.m[k][j];
    }
  }
}

// One plane rotation of Jacobi's that clears a(p, q) of the upper triangle, and the same on the
// columns of v; no rotation in the bands where `going` is 0.
template <class Count>
HWY_INLINE void rotate(Count n, Matrix<Count>& a, Matrix<Count>& v, int p, int q, Bands going) {
  const Bands twice = all(2) * a.m[p][q];
  const Bands gap = a.m[q][q] - a.m[p][p];
  const Bands reach = hn::Abs(gap) + hn::Sqrt(gap * gap + twice * twice) + all(1e-290);
  const Bands t = going * (twice * hn::CopySign(all(1), gap) / reach);
  const Bands cosine = all(1) / hn::Sqrt(all(1) + t * t);
  const Bands sine = t * cosine;
  a.m[p][p] = a.m[p][p] - t * a.m[p][q];
  a.m[q][q] = a.m[q][q] + t * a.m[p][q];
  a.m[p][q] = all(0);
  for (int k = 0; k < n; ++k) {
    if (k != p && k != q) {
      Bands& kp = k < p ? a.m[k][p] : a.m[p][k];
      Bands& kq = k < q ? a.m[k][q] : a.m[q][k];
      const Bands left = kp;
      kp = cosine * left - sine * kq;
      kq = sine * left + cosine * kq;
    }
    const Bands left = v.m[k][p];
    v.m[k][p] = cosine * left - sine * v.m[k][q];
    v.m[k][q] = sine * left + cosine * v.m[k][q];
  }
}

// Eigenvalues on the diagonal of a, whose upper triangle is used up, and eigenvectors in the
// columns of v (Jacobi's cyclic method, Golub and Van Loan 1996, section 8.4). A band stops when it
// is done, so that its bits do not depend on its neighbours.
template <class Count>
HWY_INLINE void eigen_of_symmetric(Count n, Matrix<Count>& a, Matrix<Count>& v) {
  for (int i = 0; i < n; ++i) {
    for (int j = 0; j < n; ++j) v.m[i][j] = all(i == j ? 1 : 0);
  }
  for (int sweep = 0; sweep < 16; ++sweep) {
    Bands off = all(0);
    Bands diagonal = all(0);
    for (int i = 0; i < n; ++i) {
      diagonal = diagonal + a.m[i][i] * a.m[i][i];
      for (int j = i + 1; j < n; ++j) off = off + a.m[i][j] * a.m[i][j];
    }
    const auto unfinished = hn::Gt(off, all(1e-34) * diagonal);
    if (hn::AllFalse(Tag(), unfinished)) return;
    const Bands going = hn::IfThenElseZero(unfinished, all(1));
    // Pairs in the order of a tournament: neighbours in it share no row and need not wait for each
    // other.
    const int players = n + n % 2;
    for (int round = 0; round + 1 < players; ++round) {
      for (int match = 0; match < players / 2; ++match) {
        const int one = match == 0 ? players - 1 : (round + match) % (players - 1);
        const int other = (round + players - 1 - match) % (players - 1);
        const int p = one < other ? one : other;
        const int q = one < other ? other : one;
        if (q < n) rotate(n, a, v, p, q, going);
      }
    }
  }
}

}  // namespace HWY_NAMESPACE
}  // namespace mamelon::detail
HWY_AFTER_NAMESPACE();

#endif  // MAMELON_MATERIAL_BANDS_INL_H_
