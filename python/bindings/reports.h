#pragma once
// Reports that own what they show.

#include <memory>
#include <string>
#include <vector>

#include "mamelon/audit.h"
#include "mamelon/files.h"

#include "photos.h"

namespace mamelon::python {

// The audit of a tab set.
struct OwnedAuditReport {
  std::string label;
  std::shared_ptr<const TabSet> tabs;
  std::shared_ptr<const Population> population;
  std::shared_ptr<const Audit> audit;
  std::shared_ptr<const Drift> drift;
  std::shared_ptr<const TabChoice> choice;
};
}  // namespace mamelon::python
namespace mamelon {
template <>
struct Fields<python::OwnedAuditReport> {
  static constexpr const char* name = "AuditReport";
  static constexpr auto all() {
    using T = python::OwnedAuditReport;
    return FieldList{needed("label", &T::label, "of the report"),
                     needed("tabs", &T::tabs, "the set that was audited"),
                     needed("population", &T::population, "the teeth it was held against"),
                     needed("audit", &T::audit, "what was found"),
                     field("drift", &T::drift, "against an earlier set"),
                     field("choice", &T::choice, "of a smaller set")};
  }
};
}  // namespace mamelon
namespace mamelon::python {}  // namespace mamelon::python
