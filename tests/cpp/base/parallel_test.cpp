#include "base/parallel.h"

#include <algorithm>
#include <atomic>
#include <numeric>
#include <stdexcept>
#include <vector>

#include <gtest/gtest.h>

#include "mamelon/error.h"

#include "base/stop.h"

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

// Counted work, not seconds: once asked, no thread begins another chunk.
TEST(ParallelFor, EndsBetweenTwoChunksOnceItIsAskedTo) {
  for (const std::size_t threads : {1U, 3U}) {
    std::atomic<bool> asked{false};
    std::atomic<std::size_t> chunks{0};
    const StopScope scope(&asked);
    EXPECT_THROW(parallel_for(
                     1000, 1,
                     [&](std::size_t, std::size_t) {
                       if (++chunks == 10) asked = true;
                     },
                     threads),
                 StoppedError);
    EXPECT_LE(chunks, 10 + threads);
  }
}

TEST(ParallelFor, StopsTheWorkOfItsOwnScopeOnly) {
  const std::atomic<bool> asked{true};
  const StopScope outer(&asked);
  EXPECT_THROW(stop_if_asked(), StoppedError);
  {
    const StopScope inner(nullptr);
    EXPECT_NO_THROW(stop_if_asked());
  }
  EXPECT_THROW(stop_if_asked(), StoppedError);
}

}  // namespace
}  // namespace mamelon::detail
