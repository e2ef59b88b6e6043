#pragma once
/// @file
/// Values described once. Beside a struct stands the list of its fields (`Fields`: name, member,
/// meaning, unit, range, since which version), beside an enumeration its words (`Words`). From them
/// come the check of a value, its JSON read and written, its JSON schema, its digest, its Python
/// class and the words of the command. src/base/README.md shows how to add a field.

#include <algorithm>
#include <array>
#include <cmath>
#include <concepts>
#include <cstddef>
#include <limits>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <type_traits>
#include <utility>
#include <vector>

namespace mamelon {

inline constexpr double no_limit = std::numeric_limits<double>::infinity();

/// What a field may hold, and how documents show it.
struct Rules {
  const char* unit = "";
  /// Of a number, or of each number of a list or curve. NaN lies in no range that is stated.
  double least = -no_limit;
  double most = no_limit;
  bool ranged = false;
  bool above_least = false;      ///< `least` itself is refused
  std::size_t fewest = 0;        ///< items of a list, bytes of a text
  std::size_t most_items = 0;    ///< 0: as many as you like
  const char* key = nullptr;     ///< in documents; "a.b" is `b` in the object `a`; none: the name
  const char* former = nullptr;  ///< its name in Python in the version before
  int since = 0;                 ///< minor version of the document that brought it
  bool required = false;
  bool quiet = false;    ///< left out of documents while it has its default
  bool spliced = false;  ///< its own fields stand in the object of the owner
  bool hidden = false;   ///< stands in no document
  bool null = false;     ///< absent, it is written as null; else its key is left out
  bool unique = false;   ///< items of a list differ in their `name`
  bool strict = false;   ///< ranges of plain numbers within (a Lab, say) are held too
};

/// One member of a value type. Each setter returns a changed copy:
/// `field("depth_mm", &T::depth_mm, "of the cavity").in("mm").above(0, 20)`.
template <class T, class M>
struct Field {
  using Value = M;
  const char* name;
  M T::*member;
  const char* meaning;
  Rules rules;

  constexpr Field in(const char* unit) const {
    return with([&](Rules& r) { r.unit = unit; });
  }
  constexpr Field range(double least, double most) const {
    return with([&](Rules& r) { r.least = least, r.most = most, r.ranged = true; });
  }
  /// More than `least` and at most `most`.
  constexpr Field above(double least, double most = no_limit) const {
    return with(
        [&](Rules& r) { r.least = least, r.most = most, r.ranged = true, r.above_least = true; });
  }
  /// How many items a list, or bytes a text, has.
  constexpr Field items(std::size_t fewest, std::size_t most) const {
    return with([&](Rules& r) { r.fewest = fewest, r.most_items = most; });
  }
  constexpr Field key(const char* key) const {
    return with([&](Rules& r) { r.key = key; });
  }
  constexpr Field formerly(const char* former) const {
    return with([&](Rules& r) { r.former = former; });
  }
  constexpr Field since(int minor) const {
    return with([&](Rules& r) { r.since = minor; });
  }
  constexpr Field quiet() const {
    return with([](Rules& r) { r.quiet = true; });
  }
  constexpr Field spliced() const {
    return with([](Rules& r) { r.spliced = true; });
  }
  constexpr Field hidden() const {
    return with([](Rules& r) { r.hidden = true; });
  }
  constexpr Field null() const {
    return with([](Rules& r) { r.null = true; });
  }
  constexpr Field unique() const {
    return with([](Rules& r) { r.unique = true; });
  }
  constexpr Field strict() const {
    return with([](Rules& r) { r.strict = true; });
  }

 private:
  template <class Change>
  constexpr Field with(Change change) const {
    Field changed = *this;
    change(changed.rules);
    return changed;
  }
};

template <std::size_t I, class F>
struct ListedField {
  F field;
};
/// The fields of one type: `FieldList{field(…), field(…)}`. A std::tuple of them would do, but its
/// constructors take half of the time of compiling a source that includes the headers.
template <class Indices, class... F>
struct FieldList;
template <std::size_t... I, class... F>
struct FieldList<std::index_sequence<I...>, F...> : ListedField<I, F>... {
  static constexpr std::size_t size = sizeof...(F);
  constexpr explicit FieldList(F... fields) : ListedField<I, F>{fields}... {}
};
template <class... F>
FieldList(F...) -> FieldList<std::index_sequence_for<F...>, F...>;
template <std::size_t I, class F>
constexpr const F& field_at(const ListedField<I, F>& listed) {
  return listed.field;
}
/// What `use` makes of all fields of a list.
template <class Use, std::size_t... I, class... F>
constexpr auto of_fields(const FieldList<std::index_sequence<I...>, F...>& list, Use&& use) {
  return use(field_at<I>(list)...);
}

/// A field that must be given, and one with the default of the struct.
template <class T, class M>
constexpr Field<T, M> needed(const char* name, M T::*member, const char* meaning) {
  Rules rules;
  rules.required = true;
  return {name, member, meaning, rules};
}
template <class T, class M>
constexpr Field<T, M> field(const char* name, M T::*member, const char* meaning) {
  return {name, member, meaning, {}};
}

/// Description of a value type, specialised beside it: `name`; `all()`, a `FieldList`; and as
/// needed `plain` (numbers only: in JSON a list), `format` (it is a document of this name), `about`
/// (a sentence for its schema), `constants` (keys of a document with one possible text),
/// `shared_grid` (a key `grid` holds the wavelengths of all curves within), `blank()` (how to make
/// one that has no default constructor) and `relate(value, where)` (throws ArgumentError for what
/// no single field can tell).
template <class T>
struct Fields;
/// Words of an enumeration whose values count from 0, specialised beside it: `name` and `words`.
template <class E>
struct Words;
/// A class that stands as one text in documents: `write(value)` and `read(text)`, which throws
/// ArgumentError; `blank()` where it has no default constructor.
template <class T>
struct AsText;
/// A class of values on even wavelengths: `view(value)` and `make(curve)`.
template <class T>
struct AsCurve;

/// `static constexpr auto words = words_of("flat", "oblique");`
template <class... Text>
constexpr std::array<std::string_view, sizeof...(Text)> words_of(Text... text) {
  return {text...};
}

struct Curve {
  double first_nm = 0;
  double step_nm = 0;
  std::vector<double> values;
};
struct Constant {
  const char* key;
  const char* text;
};

template <class T>
concept HasFields = requires {
  Fields<T>::all();
};
template <class E>
concept HasWords = requires {
  Words<E>::words;
};
template <class T>
concept IsText = requires(const T& value) {
  AsText<T>::write(value);
};
template <class T>
concept IsCurve = requires(const T& value) {
  AsCurve<T>::view(value);
};
template <class F>
using ValueOf = typename std::remove_cvref_t<F>::Value;

/// A value with the defaults of its type.
template <class T>
[[nodiscard]] T blank() {
  if constexpr (requires { Fields<T>::blank(); })
    return Fields<T>::blank();
  else if constexpr (requires { AsText<T>::blank(); })
    return AsText<T>::blank();
  else
    return T{};
}

enum class Kind { number, whole, truth, text, word, list, optional, object, curve };

struct Type;
/// One field of a described type, without that type.
struct Member {
  const char* name;
  const char* meaning;
  Rules rules;
  const Type& (*type)();
  const void* (*get)(const void* owner);
  void* (*edit)(void* owner);
};

/// A type as data: what one function over all values needs to look into them. Which functions are
/// set follows from `kind`.
struct Type {
  Kind kind = Kind::number;
  const char* name = "";
  const char* about = "";                   ///< of a document: what it is, in a sentence
  double (*number)(const void*) = nullptr;  ///< number, whole, truth, word (its index)
  double lowest = 0;                        ///< what the type of a whole number can hold
  double highest = 0;
  void (*set_number)(void*, double) = nullptr;
  std::string (*text)(const void*) = nullptr;
  void (*set_text)(void*, const std::string&) = nullptr;
  std::span<const std::string_view> words{};
  const Type& (*item)() = nullptr;  ///< of a list or optional
  std::size_t fixed = 0;            ///< items of a list that cannot change
  std::size_t (*size)(const void*) = nullptr;
  void (*resize)(void*, std::size_t) = nullptr;
  const void* (*at)(const void*, std::size_t) = nullptr;
  void* (*edit_at)(void*, std::size_t) = nullptr;
  const void* (*held)(const void*) = nullptr;  ///< of an optional; null when there is nothing
  void* (*hold)(void*) = nullptr;              ///< puts a blank into an optional
  Curve (*curve)(const void*) = nullptr;
  void (*set_curve)(void*, Curve&&) = nullptr;
  std::vector<Member> members{};
  bool plain = false;
  bool shared_grid = false;
  const char* format = nullptr;
  std::span<const Constant> constants{};
  const void* (*defaults)() = nullptr;  ///< a value with every default
  void (*relate)(const void*, const std::string& where) = nullptr;
};

template <class T>
[[nodiscard]] const Type& type_of();

/// Throws ArgumentError for a value outside its ranges or its relations; `where` begins the path.
void check(const Type& type, const void* value, const std::string& where);
template <HasFields T>
void check(const T& value, const std::string& where) {
  check(type_of<T>(), &value, where);
}
/// What is wrong with a number, a count of items, or a text; nothing when it may be held.
[[nodiscard]] std::optional<std::string> complaint(const Rules& rules, bool whole, double number);
[[nodiscard]] std::optional<std::string> count_complaint(std::size_t fewest, std::size_t most,
                                                         std::size_t count);
[[nodiscard]] std::optional<std::string> text_complaint(const Rules& rules, std::string_view text);

/// The meaning with unit and range, as reference pages and docstrings give it.
[[nodiscard]] std::string meaning_of(const char* meaning, const Rules& rules);

/// Equality field by field; NaN equals NaN, so that a value equals its own copy.
[[nodiscard]] bool same(const Type& type, const void* a, const void* b);
/// Every field as one line of text, numbers in the shortest form that reads back the same.
[[nodiscard]] std::string canonical_text(const Type& type, const void* value);
template <class T>
[[nodiscard]] std::string canonical_text(const T& value) {
  return canonical_text(type_of<T>(), &value);
}
/// SHA-256 of the type's name and its canonical text.
[[nodiscard]] std::string digest_of(const Type& type, const void* value);
template <HasFields T>
[[nodiscard]] std::string digest_of(const T& value) {
  return digest_of(type_of<T>(), &value);
}

/// Index of a word, and all words in one text. Throws ArgumentError naming the known ones.
[[nodiscard]] std::size_t index_of_word(std::span<const std::string_view> words,
                                        std::string_view text);
[[nodiscard]] std::string listed(std::span<const std::string_view> words);

/// The word of a choice, the same in C++, Python, JSON and the command, and back.
template <HasWords E>
[[nodiscard]] constexpr std::string_view to_string(E value) {
  return Words<E>::words.at(static_cast<std::size_t>(value));
}
/// The same for sentences: spaces in place of underscores.
template <HasWords E>
[[nodiscard]] std::string in_words(E value) {
  std::string text(to_string(value));
  std::replace(text.begin(), text.end(), '_', ' ');
  return text;
}
template <HasWords E>
[[nodiscard]] E from_string(std::string_view text) {
  return static_cast<E>(index_of_word(Words<E>::words, text));
}

namespace detail {

template <class T>
struct IsVector : std::false_type {};
template <class M>
struct IsVector<std::vector<M>> : std::true_type {};
template <class T>
struct IsArray : std::false_type {};
template <class M, std::size_t N>
struct IsArray<std::array<M, N>> : std::true_type {};
template <class T>
struct IsOptional : std::false_type {};
template <class M>
struct IsOptional<std::optional<M>> : std::true_type {};
template <class T>
struct IsShared : std::false_type {};
template <class M>
struct IsShared<std::shared_ptr<const M>> : std::true_type {};

template <class T>
const T& read(const void* value) {
  return *static_cast<const T*>(value);
}
template <class T>
T& edit(void* value) {
  return *static_cast<T*>(value);
}

template <class T>
void describe_number(Type& type) {
  type.number = [](const void* v) { return static_cast<double>(read<T>(v)); };
  type.set_number = [](void* v, double number) { edit<T>(v) = static_cast<T>(number); };
}

template <class T>
void describe_list(Type& type) {
  type.kind = Kind::list;
  type.item = &type_of<typename T::value_type>;
  type.size = [](const void* v) { return read<T>(v).size(); };
  type.at = [](const void* v, std::size_t i) -> const void* { return &read<T>(v)[i]; };
  type.edit_at = [](void* v, std::size_t i) -> void* { return &edit<T>(v)[i]; };
  if constexpr (IsArray<T>::value) {
    type.fixed = std::tuple_size_v<T>;
  } else {
    type.resize = [](void* v, std::size_t n) {
      edit<T>(v).assign(n, blank<typename T::value_type>());
    };
  }
}

template <class T>
void describe_optional(Type& type) {
  type.kind = Kind::optional;
  if constexpr (IsShared<T>::value) {
    using M = std::remove_const_t<typename T::element_type>;
    type.item = &type_of<M>;
    type.held = [](const void* v) -> const void* { return read<T>(v).get(); };
    type.hold = [](void* v) -> void* {
      auto made = std::make_shared<M>(blank<M>());
      M* const address = made.get();
      edit<T>(v) = std::move(made);
      return address;
    };
  } else {
    using M = typename T::value_type;
    type.item = &type_of<M>;
    type.held = [](const void* v) -> const void* { return read<T>(v) ? &*read<T>(v) : nullptr; };
    type.hold = [](void* v) -> void* { return &edit<T>(v).emplace(blank<M>()); };
  }
}

template <class T, std::size_t I>
Member member_of() {
  constexpr auto described = field_at<I>(Fields<T>::all());
  using M = ValueOf<decltype(described)>;
  return {described.name,
          described.meaning,
          described.rules,
          &type_of<M>,
          [](const void* v) -> const void* {
            return &(read<T>(v).*(field_at<I>(Fields<T>::all()).member));
          },
          [](void* v) -> void* { return &(edit<T>(v).*(field_at<I>(Fields<T>::all()).member)); }};
}

template <class T>
void describe_object(Type& type) {
  type.kind = Kind::object;
  type.name = Fields<T>::name;
  [&]<std::size_t... I>(std::index_sequence<I...>) {
    type.members = {member_of<T, I>()...};
  }
  (std::make_index_sequence<decltype(Fields<T>::all())::size>{});
  type.plain = requires {
    Fields<T>::plain;
  };
  type.shared_grid = requires {
    Fields<T>::shared_grid;
  };
  if constexpr (requires { Fields<T>::format; }) type.format = Fields<T>::format;
  if constexpr (requires { Fields<T>::about; }) type.about = Fields<T>::about;
  if constexpr (requires { Fields<T>::constants; }) type.constants = Fields<T>::constants;
  type.defaults = []() -> const void* {
    static const T made = blank<T>();
    return &made;
  };
  if constexpr (requires(const T& v, const std::string& s) { Fields<T>::relate(v, s); }) {
    type.relate = [](const void* v, const std::string& where) {
      Fields<T>::relate(read<T>(v), where);
    };
  }
}

template <class T>
Type describe() {
  Type type;
  if constexpr (std::same_as<T, bool>) {
    type.kind = Kind::truth;
    describe_number<T>(type);
  } else if constexpr (HasWords<T>) {
    type.kind = Kind::word;
    type.name = Words<T>::name;
    type.words = Words<T>::words;
    describe_number<T>(type);
  } else if constexpr (std::integral<T>) {
    constexpr double exact = 9007199254740992.0;  // beyond, doubles leave out whole numbers
    type.kind = Kind::whole;
    type.lowest = std::max(-exact, static_cast<double>(std::numeric_limits<T>::min()));
    type.highest = std::min(exact, static_cast<double>(std::numeric_limits<T>::max()));
    describe_number<T>(type);
  } else if constexpr (std::floating_point<T>) {
    describe_number<T>(type);
  } else if constexpr (std::same_as<T, std::string>) {
    type.kind = Kind::text;
    type.text = [](const void* v) { return read<T>(v); };
    type.set_text = [](void* v, const std::string& text) { edit<T>(v) = text; };
  } else if constexpr (IsText<T>) {
    type.kind = Kind::text;
    type.text = [](const void* v) { return std::string(AsText<T>::write(read<T>(v))); };
    type.set_text = [](void* v, const std::string& text) { edit<T>(v) = AsText<T>::read(text); };
  } else if constexpr (IsCurve<T>) {
    type.kind = Kind::curve;
    type.curve = [](const void* v) { return AsCurve<T>::view(read<T>(v)); };
    type.set_curve = [](void* v, Curve&& curve) {
      edit<T>(v) = AsCurve<T>::make(std::move(curve));
    };
  } else if constexpr (IsVector<T>::value || IsArray<T>::value) {
    describe_list<T>(type);
  } else if constexpr (IsOptional<T>::value || IsShared<T>::value) {
    describe_optional<T>(type);
  } else {
    describe_object<T>(type);
  }
  return type;
}

}  // namespace detail

/// The table of a described type; it lives as long as the process and never changes.
template <class T>
const Type& type_of() {
  static const Type type = detail::describe<T>();
  return type;
}

}  // namespace mamelon
