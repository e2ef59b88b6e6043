#include "base/parallel.h"

#include <algorithm>
#include <numeric>
#include <stdexcept>
#include <vector>

#include <gtest/gtest.h>

namespace mamelon::detail {
namespace {

TEST(ParallelFor, CoversEveryIndexOnceForAnyThreadCount) {
  for (const std::size_t threads : {1U, 2U, 7U}) {
    std::vector<int> seen(1003, 0);
    parallel_for(
        seen.size(), 10,
        [&](std::size_t begin, std::size_t end) {
          for (std::size_t i = begin; i < end; ++i) ++seen[i];
        },
        threads);
    EXPECT_EQ(std::accumulate(seen.begin(), seen.end(), 0), 1003);
    EXPECT_EQ(*std::max_element(seen.begin(), seen.end()), 1);
  }
}

TEST(ParallelFor, ThrowsWhatABodyThrew) {
  EXPECT_THROW(parallel_for(
                   100, 1,
                   [](std::size_t begin, std::size_t) {
                     if (begin == 50) throw std::runtime_error("stop");
                   },
                   3),
               std::runtime_error);
}

}  // namespace
}  // namespace mamelon::detail
