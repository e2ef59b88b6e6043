#include "io/measurements.h"

#include <algorithm>

#include "mamelon/error.h"
#include "mamelon/limits.h"

namespace mamelon {
namespace detail {
namespace {

enum class Format { csv, cgats, cxf };

// Told from the first thing in the file, not from its name.
Format format_of(std::string_view bytes) {
  const auto first = bytes.find_first_not_of("\xEF\xBB\xBF \t\r\n");
  const std::string_view head = bytes.substr(std::min(first, bytes.size()), 64);
  if (head.starts_with("<")) return Format::cxf;
  for (const std::string_view word :
       {"ISO28178", "CGATS", "CTI3", "SPECT", "CTI1", "CTI2", "CAL", "IT8."}) {
    if (head.starts_with(word)) return Format::cgats;
  }
  return bytes.find("BEGIN_DATA_FORMAT") != std::string_view::npos ? Format::cgats : Format::csv;
}

}  // namespace

bool is_cgats(std::string_view bytes) {
  return format_of(bytes) == Format::cgats;
}

Viewing settle_viewing(const StatedViewing& stated, const std::optional<Viewing>& given,
                       bool needed, const std::string& source) {
  if (!stated.illuminant || !stated.observer) {
    if (given) return *given;
    if (!needed) return {standard_illuminant("D65"), Observer::deg2};
    throw ArgumentError(source +
                        ": does not say under which illuminant and observer its colours hold; "
                        "give the viewing");
  }
  const std::string name = *stated.illuminant + (*stated.observer == Observer::deg2 ? "/2" : "/10");
  if (given && !needed) return *given;
  Viewing viewing = given ? *given : viewing_from_string("D65/2");
  try {
    viewing = viewing_from_string(name);
  } catch (const ArgumentError& error) {
    throw DataError(source + ": " + error.what());
  }
  if (given && *given != viewing) {
    throw ArgumentError(source + ": its colours are stated under " + name + ", not under " +
                        to_string(*given) + "; give that viewing, or spectra");
  }
  return viewing;
}

}  // namespace detail

std::vector<Reading> parse_measurements(std::string_view bytes, const std::string& source,
                                        const std::optional<Viewing>& viewing,
                                        const TableOptions& options) {
  switch (detail::format_of(bytes)) {
    case detail::Format::cgats:
      return detail::parse_cgats(bytes, source, viewing, options);
    case detail::Format::cxf:
      return detail::parse_cxf(bytes, source, viewing);
    case detail::Format::csv:
      break;
  }
  return parse_table(bytes, source, viewing ? *viewing : viewing_from_string("D65/2"), options);
}

std::vector<Reading> read_measurements(const std::filesystem::path& file,
                                       const std::optional<Viewing>& viewing,
                                       const TableOptions& options) {
  return parse_measurements(read_file(file, limits::table_bytes), file.string(), viewing, options);
}

}  // namespace mamelon
