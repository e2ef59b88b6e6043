#pragma once
/// @file
/// The sheet: one self-contained HTML page of a report.

#include <string>
#include <vector>

#include "mamelon/files.h"

namespace mamelon {

/// The page as HTML, without scripts, network references, file paths or photo metadata.
[[nodiscard]] std::string sheet_html(const Report& report);

/// The same for the audit of a tab set.
[[nodiscard]] std::string sheet_html(const AuditReport& report);

/// Cautions that stand on every report of a plan or a shade.
[[nodiscard]] const std::vector<std::string>& cautions();

}  // namespace mamelon
