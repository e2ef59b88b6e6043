// Any colours: the vector kernels stay within their stated error of the scalar formula, and give a
// colour the same bits wherever it stands in the array.
#include <array>
#include <cmath>
#include <vector>

#include "mamelon/batch.h"

#include "input.h"

template <class T>
void check(fuzz::Numbers numbers, double largest_error) {
  constexpr std::size_t count = 19;  // no multiple of any vector's length
  std::vector<T> p(3 * count), q(3 * count), de(count), shifted(count - 1);
  for (std::vector<T>* side : {&p, &q})
    for (std::size_t i = 0; i < 3 * count; ++i)
      (*side)[i] =
          static_cast<T>(i % 3 == 0 ? numbers.between(0, 100) : numbers.between(-128, 128));
  const auto rows = [](const std::vector<T>& lab, std::size_t from) {
    return mamelon::LabRows<T>::interleaved(std::span(lab).subspan(3 * from));
  };
  mamelon::de00_rows<T>(rows(p, 0), rows(q, 0), de);
  mamelon::de00_rows<T>(rows(q, 1), rows(p, 1), shifted);
  for (std::size_t i = 0; i < count; ++i) {
    const double exact = mamelon::de00({p[3 * i], p[3 * i + 1], p[3 * i + 2]},
                                       {q[3 * i], q[3 * i + 1], q[3 * i + 2]});
    if (!(std::fabs(static_cast<double>(de[i]) - exact) <= largest_error)) __builtin_trap();
    if (i > 0 && shifted[i - 1] != de[i]) __builtin_trap();
  }
}

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  check<double>(fuzz::Numbers(data, size), 1e-11);
  check<float>(fuzz::Numbers(data, size), 1e-4);
  return 0;
}
