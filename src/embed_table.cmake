# embed_table(TARGET NAMESPACE FILE.csv): a header `tables/<NAMESPACE>.h` with the numbers of a CSV
# table as constexpr arrays, so that the library opens no file of its own. The table has comment
# lines (#), a header row and rows of plain numbers.
function(embed_table target namespace csv)
  set_property(DIRECTORY APPEND PROPERTY CMAKE_CONFIGURE_DEPENDS ${csv})
  file(SHA256 ${csv} digest)
  file(STRINGS ${csv} lines ENCODING UTF-8)
  list(FILTER lines EXCLUDE REGEX "^#")
  list(POP_FRONT lines header)
  list(LENGTH lines rows)
  string(REGEX MATCHALL "," commas "${header}")
  list(LENGTH commas columns)
  math(EXPR columns "${columns} + 1")
  string(REPLACE "," "\", \"" names "${header}")
  list(JOIN lines "},\n    {" body)
  set(text "#pragma once
// Made at configure time from ${namespace}.csv.
#include <array>
#include <string_view>

namespace mamelon::tables::${namespace} {
inline constexpr std::string_view sha256 = \"${digest}\";
inline constexpr std::array<std::string_view, ${columns}> names = {\"${names}\"};
inline constexpr double rows[${rows}][${columns}] = {
    {${body}}};
}  // namespace mamelon::tables::${namespace}
")
  set(folder ${CMAKE_CURRENT_BINARY_DIR}/generated)
  file(CONFIGURE OUTPUT ${folder}/tables/${namespace}.h CONTENT "${text}" @ONLY)
  target_include_directories(${target} PRIVATE ${folder})
endfunction()
