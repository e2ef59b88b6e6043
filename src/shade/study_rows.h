#pragma once
// Repeat readings as the analysis sees them: numbers and level indices.

#include <array>
#include <cstddef>
#include <span>
#include <string>
#include <vector>

#include "mamelon/calibrate.h"

namespace mamelon::detail {

inline constexpr std::size_t factor_count = 3;
inline constexpr std::array<const char*, factor_count> factor_names{"day", "operator",
                                                                    "instrument"};

struct StudyRows {
  std::vector<Vec3> lab;
  std::vector<std::size_t> tab;
  std::array<std::vector<std::size_t>, factor_count> level;
  std::vector<std::string> tab_names;                              // in order of first appearance
  std::array<std::vector<std::string>, factor_count> level_names;  // the same

  [[nodiscard]] std::size_t size() const { return lab.size(); }
};

// Throws what `calibrate` throws.
StudyRows study_rows(std::span<const RepeatReading> readings);

// The rows with `keep[i]`, all levels and tabs kept.
StudyRows subset(const StudyRows& rows, const std::vector<bool>& keep);

}  // namespace mamelon::detail
