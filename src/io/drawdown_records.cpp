#include "io/drawdown_records.h"

#include <algorithm>
#include <array>
#include <map>
#include <utility>

#include "mamelon/error.h"
#include "mamelon/limits.h"

#include "base/numbers.h"
#include "io/csv.h"
#include "io/drawdown_words.h"
#include "io/measurements.h"

namespace mamelon::detail {
namespace {

std::string line(std::size_t number) {
  return "line " + std::to_string(number);
}

// One header for tables or objects that need not have all the same.
class Collector {
 public:
  explicit Collector(const std::string& source) : source_(source) {}

  // The columns of texts that stand together, in which one text twice is two columns.
  std::vector<std::size_t> columns(const std::vector<std::string>& texts) {
    std::vector<std::size_t> found;
    std::map<std::string, std::size_t> times;
    for (const std::string& text : texts) {
      const auto [at, is_new] = columns_.try_emplace({text, times[text]++}, table.header.size());
      if (is_new) table.header.push_back(text);
      found.push_back(at->second);
    }
    if (table.header.size() > limits::table_columns) {
      throw DataError(source_ + ": has more than " + std::to_string(limits::table_columns) +
                      " columns");
    }
    return found;
  }

  // `cells` stand in `columns`.
  void add(DrawdownRecord record, const std::vector<std::size_t>& columns,
           const std::vector<std::string>& cells) {
    record.cells.resize(table.header.size());
    for (std::size_t i = 0; i < columns.size() && i < cells.size(); ++i) {
      record.cells[columns[i]] = cells[i];
    }
    add(std::move(record));
  }
  void add(DrawdownRecord record) {
    // A list that grows is for a moment there twice.
    bytes_ += 2 * sizeof(DrawdownRecord);
    for (const std::string& cell : record.cells) bytes_ += sizeof(std::string) + cell.size();
    check_memory(bytes_);
    table.records.push_back(std::move(record));
  }

  // Records from before a column came have an empty cell in it.
  DrawdownRecords finished() && {
    check_memory(bytes_ + table.records.size() * table.header.size() * sizeof(std::string));
    for (DrawdownRecord& record : table.records) {
      if (record.problem.empty()) record.cells.resize(table.header.size());
    }
    return std::move(table);
  }

  DrawdownRecords table;

 private:
  void check_memory(std::size_t bytes) const {
    if (bytes <= limits::memory_bytes) return;
    throw DataError(source_ + ": its records take more than the " +
                    std::to_string(limits::memory_bytes >> 20U) +
                    " MiB that one file's may; cut the table into parts");
  }

  const std::string& source_;
  std::size_t bytes_ = 0;
  std::map<std::pair<std::string, std::size_t>, std::size_t> columns_;  // by text and which of it
};

DrawdownRecords records_of_csv(ByteSource& bytes) {
  CsvReader reader(bytes.stream(), bytes.name());
  CsvRow row;
  if (!reader.next(row)) {
    throw DataError(bytes.name() + ": is empty; give a header row specimen,thickness_mm,backing,…");
  }
  Collector all(bytes.name());
  all.table.header_place = line(row.line);
  all.table.header = row.cells;
  while (reader.next(row)) {
    DrawdownRecord record{line(row.line), {}, row.cells, {}};
    if (row.cells.size() != all.table.header.size()) {
      record.problem = "expected " + std::to_string(all.table.header.size()) + " cells, got " +
                       std::to_string(row.cells.size());
    }
    all.add(std::move(record));
  }
  all.table.decimal_comma = reader.decimal_comma();
  return std::move(all).finished();
}

// What a keyword says of a whole table stands for a field that the table does not have.
std::vector<std::pair<std::string, std::string>> stated_for_all(const CgatsText& table) {
  std::vector<std::pair<std::string, std::string>> stated;
  for (const auto& [keyword, value] : table.keywords) {
    const std::string_view meaning = drawdown_meaning(keyword);
    if (meaning.empty() || meaning == "unused") continue;
    if (std::none_of(table.fields.begin(), table.fields.end(), [&](const std::string& field) {
          return drawdown_meaning(field) == meaning;
        })) {
      stated.emplace_back(keyword, value);
    }
  }
  return stated;
}

DrawdownRecords records_of_cgats(ByteSource& bytes) {
  Collector all(bytes.name());
  all.table.cell_is = "field";
  all.table.strict = false;
  std::vector<std::size_t> columns;
  std::vector<std::size_t> bands;
  std::vector<std::string> for_all;
  std::size_t fields = 0;
  bool percent = false;
  std::optional<double> norm;
  const auto begin = [&](const CgatsText& table) {
    if (all.table.header_place.empty()) all.table.header_place = line(table.line);
    std::vector<std::string> header = table.fields;
    fields = header.size();
    for_all.clear();
    for (const auto& [keyword, value] : stated_for_all(table)) {
      header.push_back(keyword);
      for_all.push_back(value);
    }
    columns = all.columns(header);
    bands.clear();
    for (std::size_t i = 0; i < fields; ++i) {
      if (wavelength_of(header[i])) bands.push_back(i);
    }
    if (norm && table.spectral_norm != norm) {
      throw DataError(bytes.name() + ": line " + std::to_string(table.line) +
                      ": its tables state unlike SPECTRAL_NORM; give all spectra on one scale");
    }
    norm = table.spectral_norm;
    all.table.bands = table.bands;
    all.table.viewing = table.viewing;
  };
  const auto row = [&](std::size_t number, const std::vector<std::string>& words) {
    if (words.size() != fields) {
      all.add({line(number),
               {},
               {},
               "has " + std::to_string(words.size()) + " values where the data format has " +
                   std::to_string(fields)});
      return;
    }
    for (const std::size_t i : bands) {
      const auto value = parse_number(words[i]);
      percent = percent || (value && *value > 2);
    }
    std::vector<std::string> cells = words;
    cells.insert(cells.end(), for_all.begin(), for_all.end());
    all.add({line(number), {}, {}, {}}, columns, cells);
  };
  each_cgats_text(bytes, {.begin = begin, .row = row});
  // Where no norm is stated, values above what a fraction can be tell percent.
  all.table.full = norm ? *norm : percent ? 100 : 1;
  return std::move(all).finished();
}

DrawdownRecords records_of_cxf(ByteSource& bytes) {
  Collector all(bytes.name());
  all.table.header_place = "the tags of its objects";
  all.table.cell_is = "tag";
  all.table.strict = false;
  each_cxf_text(bytes, [&](const CxfText& object) {
    std::vector<std::string> header;
    std::vector<std::string> cells;
    const auto add = [&](const std::string& text, const std::string& cell) {
      header.push_back(text);
      cells.push_back(cell);
    };
    bool geometry = false;
    for (const auto& [name, value] : object.tags) {
      add(name, value);
      geometry = geometry || drawdown_meaning(name) == "geometry";
    }
    if (!geometry) add("Geometry", object.geometry);
    DrawdownRecord record{object.place, object.name, {}, {}};
    constexpr std::array axes{"L", "a", "b"};
    for (std::size_t i = 0; i < object.lab.size(); ++i) add(axes.at(i), object.lab[i]);
    if (!object.lab.empty()) all.table.viewing = object.viewing;
    if (!object.spectrum.empty() && (!object.start_nm || !object.increment_nm)) {
      record.problem = "the spectrum has no start wavelength and increment in its WavelengthRange";
    }
    for (std::size_t i = 0; record.problem.empty() && i < object.spectrum.size(); ++i) {
      add(format_number(*object.start_nm + *object.increment_nm * static_cast<double>(i)),
          object.spectrum[i]);
    }
    all.add(std::move(record), all.columns(header), cells);
  });
  return std::move(all).finished();
}

}  // namespace

DrawdownRecords drawdown_records(std::string_view text, const std::string& source) {
  check_is_table(text, source);
  ByteSource bytes = ByteSource::of_bytes(text, source);
  switch (format_of(text)) {
    case Format::cgats:
      return records_of_cgats(bytes);
    case Format::cxf:
      return records_of_cxf(bytes);
    case Format::csv:
      break;
  }
  return records_of_csv(bytes);
}

}  // namespace mamelon::detail
