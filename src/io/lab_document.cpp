// Colours and their differences as JSON, row by row: the text of a million rows would need more
// memory than they do.

#include <ostream>
#include <string>

#include "mamelon/exchange.h"

#include "io/json_write.h"

namespace mamelon {

void write_json(std::ostream& out, const ColourTable& table) {
  const Xyz white = white_point(table.viewing);
  out << "{\n  \"readings\": [\n";
  for (std::size_t i = 0; i < table.lab.size(); ++i) {
    const detail::Json item{{"label", table.labels[i]},
                            {"xyz", detail::json_of(to_xyz(table.lab[i], white))},
                            {"lab", detail::json_of(table.lab[i])}};
    out << "    " << detail::dump_item(item, 4) << (i + 1 < table.lab.size() ? ",\n" : "\n");
  }
  out << "  ]\n}\n";
}

std::string to_json_line(const ColourPair& pair) {
  const SignedDifference& parts = pair.parts;
  detail::Json out{{"a", pair.first}, {"b", pair.second}, {"de00", parts.de}, {"dL", parts.dl},
                   {"dC", parts.dc},  {"dH", parts.dh},   {"de76", pair.de76}};
  if (pair.formula) out.update({{"formula", to_string(*pair.formula)}, {"de", pair.de}});
  return detail::dump_line(out);
}

}  // namespace mamelon
