#include "shade/study_rows.h"

#include <cmath>
#include <unordered_map>

namespace mamelon::detail {
namespace {

// Indices of names in order of first appearance.
class Numbering {
 public:
  std::size_t operator()(const std::string& name, std::vector<std::string>& names) {
    const auto [at, fresh] = of_.try_emplace(name, names.size());
    if (fresh) names.push_back(name);
    return at->second;
  }

 private:
  std::unordered_map<std::string, std::size_t> of_;
};

}  // namespace

StudyRows study_rows(std::span<const RepeatReading> readings) {
  if (readings.empty()) throw ArgumentError("there are no readings to make a tab set from");
  StudyRows rows;
  Numbering tabs;
  std::array<Numbering, factor_count> levels;
  for (std::size_t i = 0; i < readings.size(); ++i) {
    const RepeatReading& repeat = readings[i];
    const std::string where = "row " + std::to_string(repeat.row == 0 ? i + 1 : repeat.row);
    const Lab& lab = repeat.reading.lab.value;
    if (repeat.reading.label.empty()) throw ArgumentError(where + " has no label: name its tab");
    if (!std::isfinite(lab.l) || !std::isfinite(lab.a) || !std::isfinite(lab.b))
      throw ArgumentError(where + " has a colour that is not finite");
    check_same_viewing(repeat.reading.viewing, readings.front().reading.viewing, where);
    rows.lab.push_back({lab.l, lab.a, lab.b});
    rows.tab.push_back(tabs(repeat.reading.label, rows.tab_names));
    const std::array<const std::string*, factor_count> names{&repeat.day, &repeat.operator_name,
                                                             &repeat.instrument};
    for (std::size_t f = 0; f < factor_count; ++f)
      rows.level[f].push_back(levels[f](*names[f], rows.level_names[f]));
  }
  return rows;
}

StudyRows subset(const StudyRows& rows, const std::vector<bool>& keep) {
  StudyRows kept;
  kept.tab_names = rows.tab_names;
  kept.level_names = rows.level_names;
  for (std::size_t i = 0; i < rows.size(); ++i) {
    if (!keep[i]) continue;
    kept.lab.push_back(rows.lab[i]);
    kept.tab.push_back(rows.tab[i]);
    for (std::size_t f = 0; f < factor_count; ++f) kept.level[f].push_back(rows.level[f][i]);
  }
  return kept;
}

}  // namespace mamelon::detail
