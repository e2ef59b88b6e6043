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

}  // namespace mamelon::detail
