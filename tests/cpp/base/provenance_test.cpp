#include "mamelon/provenance.h"

#include <gtest/gtest.h>

#include "base/sha256.h"

namespace mamelon {
namespace {

// NIST's examples for FIPS 180-4 (SHA256.pdf of the examples with intermediate values: one block,
// two blocks) and the messages of length 0 and of a million "a" in its CAVP vectors.
TEST(Provenance, Sha256OfTheStandardExamples) {
  EXPECT_EQ(sha256_hex(std::string_view()),
            "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
  EXPECT_EQ(sha256_hex(std::string_view("abc")),
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  EXPECT_EQ(
      sha256_hex(std::string_view("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq")),
      "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
  EXPECT_EQ(sha256_hex(std::string(1'000'000, 'a')),
            "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
}

TEST(Provenance, Sha256IsTheSameWithAndWithoutTheProcessorsInstructions) {
  std::vector<std::byte> bytes;
  for (std::size_t size = 0; size < 260; ++size) {
    EXPECT_EQ(detail::sha256(bytes), detail::sha256_portable(bytes)) << size;
    bytes.push_back(static_cast<std::byte>(size * 37 + 11));
  }
}

TEST(Provenance, DigestChangesWithEveryPart) {
  const Provenance base = make_provenance("match", "kl=1", {"aa", "bb"});
  EXPECT_EQ(base, make_provenance("match", "kl=1", {"aa", "bb"}));
  EXPECT_NE(base.digest, make_provenance("plan", "kl=1", {"aa", "bb"}).digest);
  EXPECT_NE(base.digest, make_provenance("match", "kl=2", {"aa", "bb"}).digest);
  EXPECT_NE(base.digest, make_provenance("match", "kl=1", {"aab", "b"}).digest);
  EXPECT_NE(base.digest, make_provenance("match", "kl=1", {"bb", "aa"}).digest);
}

}  // namespace
}  // namespace mamelon
