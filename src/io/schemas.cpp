// The JSON schema of every document that is read.

#include <algorithm>
#include <array>

#include "mamelon/error.h"
#include "mamelon/files.h"

#include "io/json_value.h"

namespace mamelon {
namespace {

struct Document {
  std::string_view name;
  const Type& (*type)();
};
constexpr std::array documents{Document{"card", &type_of<Card>}, Document{"case", &type_of<Case>},
                               Document{"kept-fit", &type_of<KeptFit>},
                               Document{"paste-set", &type_of<PasteSet>},
                               Document{"tab-set", &type_of<TabSet>}};

}  // namespace

std::vector<std::string> json_schema_names() {
  std::vector<std::string> names;
  for (const Document& document : documents) names.emplace_back(document.name);
  return names;
}

std::string json_schema(std::string_view name) {
  const auto* const found = std::find_if(documents.begin(), documents.end(),
                                         [&](const Document& d) { return d.name == name; });
  if (found == documents.end()) {
    throw ArgumentError(
        "\"" + std::string(name) +
        "\" is no document with a schema; known are card, case, kept-fit, paste-set and tab-set");
  }
  return detail::schema_of(found->type()).dump(2) + "\n";
}

}  // namespace mamelon
