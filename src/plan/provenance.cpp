// What a plan was made from.

#include <utility>
#include <vector>

#include "plan/problem.h"

namespace mamelon::detail {

Provenance provenance_of(const PlanRequest& request, const std::string& what,
                         const std::string& more) {
  PlanRequest settings = request;
  settings.target = blank<Reading>();
  settings.target.viewing = request.target.viewing;
  settings.floor = {};
  settings.floor_errors.clear();
  settings.floor_provenance = {};
  settings.pastes.pastes.clear();
  // A colour or curve that was worked out is known by what it was worked out from: its last digits
  // may differ between processors.
  std::vector<std::string> inputs;
  inputs.push_back(request.target.provenance.digest.empty() ? digest_of(request.target)
                                                            : request.target.provenance.digest);
  if (request.floor_provenance.digest.empty()) {
    inputs.push_back(sha256_hex(canonical_text(request.floor)));
    for (const Reflectance& error : request.floor_errors) {
      inputs.push_back(sha256_hex(canonical_text(error)));
    }
  } else {
    inputs.push_back(request.floor_provenance.digest);
  }
  for (const Paste& paste : request.pastes.pastes) inputs.push_back(digest_of(paste));
  return make_provenance(what, canonical_text(settings) + more, std::move(inputs));
}

}  // namespace mamelon::detail
