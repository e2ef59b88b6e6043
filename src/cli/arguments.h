#pragma once
// Values of options, from text. Each function throws ArgumentError with the option's name.

#include <cstddef>
#include <string>
#include <utility>
#include <vector>

#include "mamelon/mamelon.h"

namespace mamelon::cli {

double number_argument(const std::string& option, const std::string& text, double least,
                       double most);
// The same of a whole number.
int whole_argument(const std::string& option, const std::string& text, int least, int most);
// The parts of `text` between marks.
std::vector<std::string> split(const std::string& text, char mark);
// What stands before and after the last mark; nothing before where there is none.
std::pair<std::string, std::string> parted(const std::string& text, char mark);
// Both sides of the first =, neither of them empty; `expected` says what they are.
std::pair<std::string, std::string> pair_argument(const std::string& option,
                                                  const std::string& expected,
                                                  const std::string& text);
// Numbers with a mark between them.
std::vector<double> numbers_argument(const std::string& option, const std::string& text, char mark,
                                     double least, double most);
// A word of an enumeration.
template <class E>
E word_argument(const std::string& option, const std::string& text) {
  try {
    return from_string<E>(text);
  } catch (const ArgumentError& error) {
    throw ArgumentError(option + ": " + error.what());
  }
}
// Of a paste in the set.
std::size_t paste_argument(const std::string& option, const PasteSet& set, const std::string& name);
// `count` numbers with commas between them.
std::vector<double> list_argument(const std::string& option, const std::string& text,
                                  std::size_t count);
Viewing viewing_argument(const std::string& text);
// kL:kC:kH, for instance 1:1:1 or 2:1:1.
DifferenceWeights weights_argument(const std::string& text);
// A colour as L,a,b or L,a,b,sdL,sda,sdb (standard deviations); nothing for other text.
std::optional<Reading> colour_argument(const std::string& option, const std::string& text,
                                       const Viewing& viewing);
// LIT/SEEN in mm, or endless: so wide that no light is lost.
Aperture aperture_argument(const std::string& text);
// A file of a reflectance, or L,a,b seen under `viewing`; on `grid`.
Reflectance floor_argument(const std::string& text, const Viewing& viewing, const Grid& grid,
                           const TableOptions& options, std::vector<std::string>& warnings);

}  // namespace mamelon::cli
