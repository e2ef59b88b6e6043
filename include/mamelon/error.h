#pragma once
/// @file
/// The one exception family of the library.

#include <stdexcept>
#include <string>
#include <string_view>

namespace mamelon {

/// `text` with control characters and bytes that are not UTF-8 written as `\xNN`, so that what a
/// damaged file contains can be quoted in a message. Line feeds count as control characters.
[[nodiscard]] std::string printable(std::string_view text);

/// What went wrong, in the terms a caller can act on. The command line turns each into its own
/// exit code and Python into its own subclass of `mamelon.Error`.
enum class ErrorKind {
  argument,  ///< wrong use of a function or option
  data,      ///< a malformed file or document
  capture,   ///< a readable photo that cannot be measured
  model,     ///< outside the domain of a physical model
  io,        ///< the system could not read or write
  stopped,   ///< the caller asked the work to stop
};

/// Base of everything the library throws. The message is one sentence: what is wrong, where
/// (file, line, field), and what would be right. It is kept `printable`.
class Error : public std::runtime_error {
 public:
  Error(ErrorKind kind, const std::string& sentence)
      : std::runtime_error(printable(sentence)), kind_(kind) {}
  [[nodiscard]] ErrorKind kind() const noexcept { return kind_; }

 private:
  ErrorKind kind_;
};

class ArgumentError : public Error {
 public:
  explicit ArgumentError(const std::string& sentence) : Error(ErrorKind::argument, sentence) {}
};

class DataError : public Error {
 public:
  explicit DataError(const std::string& sentence) : Error(ErrorKind::data, sentence) {}
};

class CaptureError : public Error {
 public:
  explicit CaptureError(const std::string& sentence) : Error(ErrorKind::capture, sentence) {}
};

class ModelError : public Error {
 public:
  explicit ModelError(const std::string& sentence) : Error(ErrorKind::model, sentence) {}
};

class IoError : public Error {
 public:
  explicit IoError(const std::string& sentence) : Error(ErrorKind::io, sentence) {}
};

class StoppedError : public Error {
 public:
  explicit StoppedError(const std::string& sentence) : Error(ErrorKind::stopped, sentence) {}
};

}  // namespace mamelon
