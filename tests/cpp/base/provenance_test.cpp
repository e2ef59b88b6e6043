#include "mamelon/provenance.h"

#include <gtest/gtest.h>

namespace mamelon {
namespace {

// FIPS 180-4 example: the message "abc".
TEST(Provenance, Sha256OfTheStandardExample) {
  EXPECT_EQ(sha256_hex(std::string_view("abc")),
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
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
