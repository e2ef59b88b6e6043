# The software bill of materials (CycloneDX 1.5): what a build was made of, in the versions found.
# It holds no date and no path, so that the same build gives the same file.

# sbom_component(NAME VERSION LICENCE SCOPE): LICENCE is an SPDX expression; SCOPE is `required` for
# what is linked or included, `optional` for what is linked where it is found, and `excluded` for what
# only tests and benchmarks use.
function(sbom_component name version licence scope)
  string(TOLOWER "${name}" key)
  set(entry "{\"type\":\"library\",\"bom-ref\":\"${key}\",\"name\":\"${name}\",\"version\":\"${version}\",")
  string(APPEND entry "\"scope\":\"${scope}\",\"licenses\":[{\"expression\":\"${licence}\"}],")
  string(APPEND entry "\"purl\":\"pkg:generic/${key}@${version}\"}")
  set_property(GLOBAL APPEND PROPERTY mamelon_sbom "${entry}")
endfunction()

function(write_sbom file)
  get_property(components GLOBAL PROPERTY mamelon_sbom)
  list(REMOVE_DUPLICATES components)
  list(SORT components)
  list(JOIN components "," joined)
  set(text "{\"bomFormat\":\"CycloneDX\",\"specVersion\":\"1.5\",\"version\":1,\"metadata\":{\"component\":")
  string(APPEND text "{\"type\":\"library\",\"bom-ref\":\"mamelon\",\"name\":\"mamelon\",")
  string(APPEND text "\"version\":\"${PROJECT_VERSION}\",\"licenses\":[{\"expression\":\"Apache-2.0\"}]}},")
  string(APPEND text "\"components\":[${joined}]}")
  # Fails on what is no JSON, and lays it out.
  string(JSON laid_out SET "${text}" version 1)
  file(CONFIGURE OUTPUT "${file}" CONTENT "@laid_out@\n" @ONLY)
endfunction()
