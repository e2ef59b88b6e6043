#pragma once
// Reference vectors in tests/data, comma-separated with a header row.

#include <fstream>
#include <sstream>
#include <stdexcept>
#include <string>
#include <vector>

namespace mamelon::testing_data {

using Row = std::vector<std::string>;

inline std::vector<Row> rows_of(const std::string& name) {
  std::ifstream file(std::string(MAMELON_TEST_DATA_DIR) + "/" + name);
  if (!file) throw std::runtime_error("cannot open " + name);
  std::vector<Row> rows;
  std::string line;
  std::getline(file, line);
  while (std::getline(file, line)) {
    Row row;
    std::istringstream cells(line);
    for (std::string cell; std::getline(cells, cell, ',');) row.push_back(cell);
    rows.push_back(std::move(row));
  }
  if (rows.empty()) throw std::runtime_error(name + " has no rows");
  return rows;
}

inline double number(const std::string& cell) {
  return std::stod(cell);
}

}  // namespace mamelon::testing_data
