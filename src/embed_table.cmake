# A CSV file of numbers becomes a header `tables/<NAMESPACE>.h` of constexpr arrays, so that the
# library opens no file of its own. The file has comment lines (#), a header row, and then
# - for embed_table(TARGET NAMESPACE FILE.csv) rows of plain numbers: one array `rows`;
# - for embed_arrays(TARGET NAMESPACE FILE.csv) rows of two words and numbers: rows of the same words
#   make one array that is called after both. The numbers are whole, -128 to 127, where the second
#   word is `values`, and else floats written with a point or an exponent.
function(read_rows csv)
  set_property(DIRECTORY APPEND PROPERTY CMAKE_CONFIGURE_DEPENDS ${csv})
  file(STRINGS ${csv} lines ENCODING UTF-8)
  list(FILTER lines EXCLUDE REGEX "^#")
  list(POP_FRONT lines header)
  set(header ${header} PARENT_SCOPE)
  set(lines ${lines} PARENT_SCOPE)
endfunction()

function(write_tables target namespace csv body)
  file(SHA256 ${csv} digest)
  set(folder ${CMAKE_CURRENT_BINARY_DIR}/generated)
  file(CONFIGURE OUTPUT ${folder}/tables/${namespace}.h @ONLY CONTENT "#pragma once
// Made at configure time from ${namespace}.csv.
#include <array>
#include <string_view>

namespace mamelon::tables::${namespace} {
inline constexpr std::string_view sha256 = \"${digest}\";
${body}
}  // namespace mamelon::tables::${namespace}
")
  target_include_directories(${target} PRIVATE ${folder})
endfunction()

function(embed_table target namespace csv)
  read_rows(${csv})
  list(LENGTH lines rows)
  string(REGEX MATCHALL "," commas "${header}")
  list(LENGTH commas columns)
  math(EXPR columns "${columns} + 1")
  string(REPLACE "," "\", \"" names "${header}")
  list(JOIN lines "},\n    {" body)
  write_tables(${target} ${namespace} ${csv}
    "inline constexpr std::array<std::string_view, ${columns}> names = {\"${names}\"};
inline constexpr double rows[${rows}][${columns}] = {
    {${body}}};")
endfunction()

function(embed_arrays target namespace csv)
  read_rows(${csv})
  set(body "")
  set(open "")
  foreach(line IN LISTS lines)
    string(REGEX MATCH "^([^,]+),([^,]+),(.*)$" row "${line}")
    set(numbers ${CMAKE_MATCH_3})
    set(type "signed char")
    if(NOT CMAKE_MATCH_2 STREQUAL "values")
      set(type float)
      string(REPLACE "," "F," numbers "${numbers}F")
    endif()
    if(open STREQUAL "${CMAKE_MATCH_1}_${CMAKE_MATCH_2}")
      string(APPEND body ",\n    ${numbers}")
    else()
      if(open)
        string(APPEND body "};\n")
      endif()
      set(open ${CMAKE_MATCH_1}_${CMAKE_MATCH_2})
      string(APPEND body "inline constexpr ${type} ${open}[] = {\n    ${numbers}")
    endif()
  endforeach()
  write_tables(${target} ${namespace} ${csv} "${body}};")
endfunction()
