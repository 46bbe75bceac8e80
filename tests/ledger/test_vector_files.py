"""Published test values from files: see the `vectors` fixture. Each file names its source."""

from __future__ import annotations

import struct

import pytest
import rfc8785

from continuity.errors import FormatError
from continuity.ledger import canonical, merkle
from continuity.ledger import checkpoint as checkpoints
from continuity.ledger import note as notes
from continuity.ledger.checkpoint import Checkpoint, CosignerKey
from continuity.ledger.disclosure import digest_of, read
from continuity.ledger.keys import SigningKey, VerifyKey
from continuity.ledger.merkle import ProofError, TreeBuilder
from continuity.ledger.note import Note

unhex = bytes.fromhex


def holds(check, *arguments):
    try:
        check(*arguments)
    except ProofError:
        return False
    return True


def test_a_published_log_is_reproduced_to_the_byte(vectors):
    """transparency-dev/tessera, testdata/log, signed with its published test key."""
    log = vectors("tessera_log_15.json")
    key = SigningKey.parse(log["skey_published_test_key"])
    assert str(key.verify_key) == log["vkey"]
    leaves = [merkle.leaf_hash(entry.encode()) for entry in log["entries"]]
    assert (len(leaves), len(log["checkpoints_by_size"])) == (15, 16)
    builder, frontier, roots = TreeBuilder(), (), []
    for size, published in enumerate(log["checkpoints_by_size"]):
        checkpoint = Checkpoint(log["origin"], builder.size, builder.root())
        assert checkpoints.sign(checkpoint, key).encode() == published.encode()
        assert checkpoints.open(published.encode(), key.verify_key) == checkpoint
        assert merkle.root(size, merkle.reader_of(leaves)) == checkpoint.root
        assert merkle.root_of_frontier(frontier) == checkpoint.root
        roots.append(checkpoint.root)
        if size < len(leaves):
            builder.append(leaves[size])
            _, frontier = merkle.completed_nodes(size, leaves[size], frontier)
    read = merkle.reader_of(leaves)
    for row in log["derived"]["inclusion_n15"]:
        proof = merkle.inclusion_proof(row["i"], row["n"], read)
        assert [found.hex() for found in proof] == row["proof"]
        merkle.verify_inclusion(leaves[row["i"]], row["i"], 15, proof, roots[15])
    for row in log["derived"]["consistency_to_15"]:
        proof = merkle.consistency_proof(row["m"], row["n"], read)
        assert [found.hex() for found in proof] == row["proof"]
        merkle.verify_consistency(row["m"], 15, proof, roots[row["m"]], roots[15])
    text = checkpoints.format_proof(
        6, merkle.inclusion_proof(6, 15, read), log["checkpoints_by_size"][15].encode()
    )
    assert text == log["derived"]["tlog_proof_index6"].encode()


def test_wycheproof_ed25519(vectors):
    """C2SP/wycheproof, testvectors_v1/ed25519_test.json: all 151 cases."""
    tests = vectors("wycheproof_ed25519_verify.json")["tests"]
    assert len(tests) == 151
    keys = {test["pk"]: VerifyKey("wycheproof", unhex(test["pk"])) for test in tests}
    wrong = [
        test["tcId"]
        for test in tests
        if keys[test["pk"]].verify(unhex(test["msg"]), unhex(test["sig"]))
        != (test["result"] == "valid")
    ]
    assert wrong == []


def test_rfc_8032(vectors):
    """RFC 8032 section 7.1, all five."""
    rows = vectors("rfc8032_ed25519.json")["vectors"]
    assert len(rows) == 5
    for row in rows:
        key = SigningKey.from_seed("rfc", unhex(row["secret_key"]))
        assert key.verify_key.raw.hex() == row["public_key"]
        assert key.signature(unhex(row["message"])).hex() == row["signature"]
        assert key.verify_key.verify(unhex(row["message"]), unhex(row["signature"]))


# The reference implementation does not look at the roots' length where there is nothing to hash.
LOOSER_THAN_HERE = {
    "testdata/consistency/additional/sizes-are-equal-one-and-proof-is-empty.json",
}


def test_proof_probes(vectors):
    """transparency-dev/merkle, testdata: 98 inclusion and 98 consistency probes."""
    cases = vectors("merkle_proof_probes.json")["cases"]
    assert (len(cases["inclusion"]), len(cases["consistency"])) == (98, 98)
    wrong = [
        probe["file"]
        for probe in cases["inclusion"]
        if holds(
            merkle.verify_inclusion,
            unhex(probe["leafHash"]),
            probe["leafIdx"],
            probe["treeSize"],
            [unhex(found) for found in probe["proof"]],
            unhex(probe["root"]),
        )
        == probe["wantErr"]
    ]
    wrong += [
        probe["file"]
        for probe in cases["consistency"]
        if holds(
            merkle.verify_consistency,
            probe["size1"],
            probe["size2"],
            [unhex(found) for found in probe["proof"]],
            unhex(probe["root1"]),
            unhex(probe["root2"]),
        )
        == probe["wantErr"]
    ]
    assert set(wrong) == LOOSER_THAN_HERE


def test_eight_leaves(vectors):
    """transparency-dev/merkle, testonly/constants.go and what follows from it."""
    data = vectors("rfc6962_eight_leaf.json")
    leaves = [merkle.leaf_hash(unhex(leaf)) for leaf in data["leaf_inputs_hex"]]
    read = merkle.reader_of(leaves)
    for level, hashes in enumerate(data["node_hashes_by_level"]):
        ids = [(level, index) for index in range(len(hashes))]
        assert [found.hex() for found in read(ids)] == hashes
    roots = {int(size): unhex(root) for size, root in data["root_by_size"].items()}
    for row in data["inclusion"]:
        arguments = row["leaf_index"], row["tree_size"]
        assert [found.hex() for found in merkle.inclusion_proof(*arguments, read)] == row["proof"]
    for row in data["consistency"]:
        arguments = row["first"], row["second"]
        assert [found.hex() for found in merkle.consistency_proof(*arguments, read)] == row["proof"]
    for row in data["derived_all_inclusion"]:
        proof = [unhex(found) for found in row["proof"]]
        assert list(merkle.inclusion_proof(row["i"], row["n"], read)) == proof
        merkle.verify_inclusion(leaves[row["i"]], row["i"], row["n"], proof, roots[row["n"]])
    for row in data["derived_all_consistency"]:
        proof = [unhex(found) for found in row["proof"]]
        assert list(merkle.consistency_proof(row["m"], row["n"], read)) == proof
        merkle.verify_consistency(row["m"], row["n"], proof, roots[row["m"]], roots[row["n"]])


def test_the_pitfall_of_unbound_sizes(vectors):
    """Proofs that verify for other sizes too: the reason to take the size from the checkpoint."""
    pitfall = vectors("size_binding_pitfall.json")
    inputs = vectors("rfc6962_eight_leaf.json")["leaf_inputs_hex"]
    leaves = [merkle.leaf_hash(unhex(leaf)) for leaf in inputs]
    read = merkle.reader_of(leaves)
    for leaf, size, limit, expected in (
        (0, 8, 17, pitfall["leaf0_proof_n8_accepted_for"]),
        (2, 3, 17, pitfall["leaf2_proof_n3_accepted_for"]),
    ):
        proof, root = merkle.inclusion_proof(leaf, size, read), merkle.root(size, read)
        accepted = [
            [index, claimed]
            for claimed in range(1, limit)
            for index in range(claimed)
            if holds(merkle.verify_inclusion, leaves[leaf], index, claimed, proof, root)
        ]
        assert [pair for pair in expected if pair in accepted] == expected
    proof = merkle.consistency_proof(3, 7, read)
    accepted = [
        [first, second]
        for first in range(1, 17)
        for second in range(first + 1, 33)
        if holds(
            merkle.verify_consistency,
            first,
            second,
            proof,
            merkle.root(3, read),
            merkle.root(7, read),
        )
    ]
    assert accepted == pitfall["consistency_3_to_7_accepted_for"]


def test_signed_notes(vectors):
    """Notes and checkpoints of several logs; the sources stand beside each."""
    data = vectors("signed_notes.json")
    assert len(data["notes"]) == 5
    for row in data["notes"]:
        encoded = row["note"].encode()
        note = Note.parse(encoded)
        assert note.encode() == encoded
        if row["id"] == "cosignature-v1-skylight":
            keys = [CosignerKey.parse(vkey) for vkey in row["vkeys"]]
            found = checkpoints.open_cosignatures(note, keys)
            assert found == [("witness.example.org", 1767139200)]
            continue
        keys = [VerifyKey.parse(vkey) for vkey in row["vkeys"]]
        assert len(notes.verify(note, keys)) == len(keys)
        if row["id"].startswith("sumdb"):
            assert checkpoints.open(encoded, keys[0]).origin == "go.sum database tree"
        for bit in range(0, len(row["note"]) * 8, 7):
            flipped = bytearray(encoded)
            flipped[bit // 8] ^= 1 << bit % 8
            try:
                good = notes.verify(Note.parse(bytes(flipped)), keys)
            except FormatError:
                continue
            assert len(good) < len(keys)
    for vkey in [*data["bad_vkeys"], data["mldsa44_vkey_negative"]["vkey"]]:
        for kind in (VerifyKey, CosignerKey):
            with pytest.raises(FormatError):
                kind.parse(vkey)
    blob = notes.from_base64(data["cosig_timestamp_decode"]["base64"])
    assert int.from_bytes(blob[4:12]) == data["cosig_timestamp_decode"]["time"]


def has_float(value):
    if isinstance(value, dict):
        return any(map(has_float, value.values()))
    return isinstance(value, float) or (isinstance(value, list) and any(map(has_float, value)))


def test_canonical_json(vectors):
    """RFC 8785 and the suite of cyberphone/json-canonicalization."""
    import json  # noqa: PLC0415 - the lenient reader is for these inputs alone

    data = vectors("rfc8785_jcs.json")
    assert len(data["appendix_b_numbers"]) == 26
    for row in data["appendix_b_numbers"]:
        (number,) = struct.unpack(">d", unhex(row["ieee754"]))
        if row["json"] is None:
            with pytest.raises(rfc8785.FloatDomainError):
                rfc8785.dumps(number)
        else:
            assert rfc8785.dumps(number).decode() == row["json"]
        with pytest.raises(FormatError):
            canonical.encode(number)
    inputs = [
        (data[name]["input"].encode(), unhex(data[name]["canonical_hex"]))
        for name in ("sample", "sort_sample")
    ]
    inputs += [
        (unhex(row["input_utf8_hex"]), unhex(row["canonical_hex"]))
        for row in data["cyberphone_suite"]
    ]
    assert len(inputs) == 8
    accepted = 0
    for given, expected in inputs:
        value = json.loads(given)
        assert rfc8785.dumps(value) == expected
        if has_float(value):
            with pytest.raises(FormatError):
                canonical.encode(value)
            with pytest.raises(FormatError):
                canonical.parse(given)
            continue
        accepted += 1
        assert canonical.encode(value) == expected
        assert canonical.parse(given) == value
        if isinstance(value, dict):
            assert canonical.decode(expected) == value
    assert accepted == 5


def test_disclosures(vectors):
    """RFC 9901: two disclosures and their digests."""
    cases = vectors("sd_jwt_disclosures.json")["cases"]
    assert len(cases) == 2
    for case in cases:
        assert digest_of(case["disclosure"]) == case["sha256_b64url"]
    assert list(read(cases[0]["disclosure"])) == cases[0]["contents"]
