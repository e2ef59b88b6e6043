#pragma once
// What a report says, as text for a terminal.

#include <cstddef>
#include <string>
#include <vector>

#include "mamelon/card.h"
#include "mamelon/report.h"

#include "cli/terminal.h"

namespace mamelon::cli {

// "L* 70.1 ± 0.5, a* …" of every reading, and its nearest tabs.
std::string shade_text(const Terminal& terminal, const Report& report, std::size_t top);
// The recommended plan of every tooth, the headline's first, with increments, prediction and what
// else was considered; empty where none was asked for.
std::string plan_text(const Terminal& terminal, const Report& report);
// Cells of tables.
std::string percent(double share);
std::string lab_cell(const Lab& lab, int decimals = 1);
// "loam 2.2 mm + petal 0.8 mm", from the floor outward.
std::string layers_in_words(const Plan& plan);
std::string card_text(const Terminal& terminal, const CardFit& fit);
std::string cautions_text(const Terminal& terminal);

// Warnings go to standard error, one a line, so that standard output stays a document. What changes
// the decision stands first, as a warning; what else to know follows as notes.
void print_warnings(const Report& report);
void print_warnings(const std::vector<std::string>& warnings);

// Standard output with an IoError when it cannot take all of `text`.
void print(const std::string& text);

}  // namespace mamelon::cli
