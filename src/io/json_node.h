#pragma once
// A JSON document read strictly: every value is asked for by name, and an error names the document
// and the path of the value.

#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include <nlohmann/json.hpp>

#include "mamelon/description.h"
#include "mamelon/error.h"

namespace mamelon::detail {

class Node {
 public:
  [[nodiscard]] Node at(std::string_view key) const;
  [[nodiscard]] std::optional<Node> find(std::string_view key) const;
  // Refuses keys other than these, unless the document is of a newer minor version.
  void allow(const std::vector<std::string>& keys) const;

  [[nodiscard]] bool is_null() const { return value_->is_null(); }
  [[nodiscard]] bool is_list() const { return value_->is_array(); }
  [[nodiscard]] std::vector<Node> items() const;
  // Finite.
  [[nodiscard]] double number() const;
  [[nodiscard]] std::string text() const;
  [[nodiscard]] bool boolean() const;

  // Runs `call`; what it calls a wrong argument is wrong data at this place.
  template <class Call>
  auto here(Call&& call) const {
    try {
      return std::forward<Call>(call)();
    } catch (const ArgumentError& error) {
      fail(error.what());
    }
  }

  // `check` of a value that was read from here.
  void checked(const Type& type, const void* value) const;
  // As it stands in the document, cut short.
  [[nodiscard]] std::string shown() const;

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

}  // namespace mamelon::detail
