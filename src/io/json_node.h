#pragma once
// A JSON document read strictly: every value is asked for by name, with its range, and an error
// names the document and the path of the value.

#include <cstddef>
#include <initializer_list>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include <nlohmann/json.hpp>

#include "mamelon/colour.h"
#include "mamelon/error.h"
#include "mamelon/measured.h"
#include "mamelon/spectrum.h"
#include "mamelon/viewing.h"

#include "io/data_error.h"

namespace mamelon::detail {

class Node {
 public:
  [[nodiscard]] Node at(std::string_view key) const;
  [[nodiscard]] std::optional<Node> find(std::string_view key) const;
  // Refuses keys other than these, unless the document is of a newer minor version.
  void allow(std::initializer_list<std::string_view> keys) const;

  [[nodiscard]] std::vector<Node> items(std::size_t least, std::size_t most) const;
  [[nodiscard]] double number(double least, double most) const;
  [[nodiscard]] std::string text(std::size_t longest = 200) const;
  [[nodiscard]] bool boolean() const;
  [[nodiscard]] int integer(int least, int most) const;
  [[nodiscard]] std::vector<double> numbers(std::size_t least, std::size_t most, double low,
                                            double high) const;

  // DataError with the document, the path and `what`.
  [[noreturn]] void fail(const std::string& what) const;
  [[nodiscard]] const std::string& path() const { return path_; }

 private:
  friend Node parse_document(std::string_view, const std::string&, std::string_view, int);
  // The constructors of json are noexcept and call what may throw only to assert.
  // NOLINTNEXTLINE(bugprone-exception-escape)
  struct Document {
    nlohmann::json root;
    std::string source;
    bool lenient = false;
  };
  Node(std::shared_ptr<const Document> document, const nlohmann::json* value, std::string path)
      : document_(std::move(document)), value_(value), path_(std::move(path)) {}

  std::shared_ptr<const Document> document_;
  const nlohmann::json* value_;
  std::string path_;
};

// The root of a document whose `format` is `format` and whose version is 1.x; keys that are not
// known are passed over where x is above `minor`, the newest that is known. Throws DataError
// naming the line for text that is not JSON or repeats a key.
Node parse_document(std::string_view text, const std::string& source, std::string_view format,
                    int minor);

// [L, a, b] within L* 0–100 and |a*|, |b*| ≤ 150.
Lab lab_of(const Node& node);
// A symmetric, positive semi-definite 3×3 matrix.
Mat3 covariance_of(const Node& node);
// {"first_nm", "step_nm", "values"} with values in [low, high].
template <class Unit>
Spectrum<Unit> spectrum_of(const Node& node, double low, double high);
extern template Reflectance spectrum_of<unit::Reflectance>(const Node&, double, double);
// A viewing such as "D65/2".
Viewing viewing_of(const Node& node);

}  // namespace mamelon::detail
