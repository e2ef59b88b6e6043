#pragma once
// What the page holds in the core between two calls.

#include <cstddef>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "mamelon/mamelon.h"

namespace mamelon::page {

struct Session {
  std::map<std::string, CasePhoto> photos;  // by SHA-256 of their bytes
  // Documents that were read, by SHA-256 of their text.
  std::map<std::string, Card> cards;
  std::map<std::string, TabSet> tabs;
  std::map<std::string, PasteSet> pastes;
  std::map<std::string, Case> cases;  // as they were opened, by their digest
  SolveMemory memory;
  SolveMemory try_in_memory;     // apart, so that the case's own photo stays known
  std::optional<Report> report;  // of the last `solve`
};

// What a call gives back: a JSON object and, where it makes a file or a picture, its bytes.
struct Answer {
  std::string json;
  std::string bytes;
};

// Runs one call of the page. Throws mamelon::Error for what the library refuses and for an
// operation that is not known.
Answer run(Session& session, std::string_view operation, std::string_view json,
           std::vector<std::byte> bytes, const SolveProgress& progress);

}  // namespace mamelon::page
