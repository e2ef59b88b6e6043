#include "shade/tooth_distances.h"

#include "base/parallel.h"

namespace mamelon::detail {

std::vector<double> tooth_distances(const std::vector<Lab>& colours, const std::vector<Lab>& teeth,
                                    const DifferenceWeights& weights) {
  std::vector<double> de(colours.size() * teeth.size());
  parallel_for(colours.size(), 8, [&](std::size_t begin, std::size_t end) {
    for (std::size_t c = begin; c < end; ++c)
      for (std::size_t i = 0; i < teeth.size(); ++i)
        de[c * teeth.size() + i] = de00(colours[c], teeth[i], weights);
  });
  return de;
}

std::vector<std::size_t> evenly_taken(std::size_t count, std::size_t most) {
  const std::size_t step = (count + most - 1) / most;
  std::vector<std::size_t> taken;
  for (std::size_t i = 0; i < count; i += step) taken.push_back(i);
  return taken;
}

}  // namespace mamelon::detail
