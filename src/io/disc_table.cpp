// The table of discs in photos.

#include <algorithm>
#include <array>
#include <map>
#include <sstream>
#include <string>
#include <vector>

#include "mamelon/error.h"
#include "mamelon/paste_report.h"

#include "base/numbers.h"
#include "io/csv.h"

namespace mamelon {
namespace {

constexpr std::array names{"photo", "specimen", "thickness_mm", "thickness_sd_mm", "backing",
                           "x",     "y",        "width",        "height"};

using Row = PhotographedDisc;

class Table {
 public:
  explicit Table(const std::string& file)
      : in_(read_file(file, std::size_t{1} << 26)), reader_(in_, file), file_(file) {}

  std::vector<Row> rows() {
    detail::CsvRow row;
    if (!reader_.next(row)) throw DataError(file_ + ": is empty");
    for (std::size_t i = 0; i < row.cells.size(); ++i) at_[row.cells[i]] = i;
    for (const char* name : names) {
      if (at_.count(name) == 0 && std::string(name) != "thickness_sd_mm") {
        throw DataError(file_ + ": line " + std::to_string(row.line) + ": the column " + name +
                        " is missing; a table of discs in photos has photo, specimen, "
                        "thickness_mm, backing, x, y, width and height");
      }
    }
    const std::size_t count = row.cells.size();
    std::vector<Row> all;
    while (reader_.next(row)) {
      const std::string where = file_ + ": line " + std::to_string(row.line);
      if (row.cells.size() != count) {
        throw DataError(where + ": expected " + std::to_string(count) + " cells, got " +
                        std::to_string(row.cells.size()));
      }
      all.push_back(row_of(row, where));
    }
    return all;
  }

 private:
  [[nodiscard]] std::string cell(const detail::CsvRow& row, const std::string& name) const {
    const auto found = at_.find(name);
    return found == at_.end() ? std::string() : row.cells[found->second];
  }
  [[nodiscard]] double number(const detail::CsvRow& row, const std::string& name, double least,
                              double most, const std::string& where) const {
    std::string text = cell(row, name);
    if (reader_.decimal_comma()) std::replace(text.begin(), text.end(), ',', '.');
    const auto value = detail::parse_number(text);
    if (!value || *value < least || *value > most) {
      throw DataError(where + ", column " + name + ": must be a number from " +
                      detail::format_short(least) + " to " + detail::format_short(most) +
                      ", got \"" + text.substr(0, 40) + "\"");
    }
    return *value;
  }
  [[nodiscard]] Row row_of(const detail::CsvRow& row, const std::string& where) const {
    Row out;
    out.where = where;
    out.photo = cell(row, "photo");
    out.specimen = cell(row, "specimen");
    out.backing = cell(row, "backing");
    if (out.photo.empty() || out.backing.empty()) {
      throw DataError(where + ": a row needs a photo and the backing's name");
    }
    constexpr double most_px = 1e6;
    out.box = {number(row, "x", 0, most_px, where), number(row, "y", 0, most_px, where),
               number(row, "width", 4, most_px, where), number(row, "height", 4, most_px, where)};
    if (!out.specimen.empty()) {
      out.thickness_mm = number(row, "thickness_mm", 0.01, 30, where);
      if (!cell(row, "thickness_sd_mm").empty()) {
        out.thickness_sd_mm = number(row, "thickness_sd_mm", 0.0001, 5, where);
      }
    }
    return out;
  }

  std::istringstream in_;
  detail::CsvReader reader_;
  const std::string& file_;
  std::map<std::string, std::size_t> at_;
};

}  // namespace

std::vector<PhotographedDisc> read_photographed_discs(const std::string& file) {
  return Table(file).rows();
}

}  // namespace mamelon
