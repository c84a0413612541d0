"""Verifies exchange lines from the documented bytes alone, with another author's cryptography.

usage: verify_signature.py LINES.jsonl

Prints the identity of each entry, a line each; exits with 1 and names the line if one does not fit.
"""

import hashlib
import json
import sys

try:
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey
except ImportError:
    sys.exit("Signatures cannot be checked: install the Debian package python3-cryptography.")

BODY_AT = 146


def identity(line):
    """The identity of the entry in a line, after its signature was checked."""
    line = line.removesuffix(b"\n")
    if line[:8] != b'{"sig":"' or line[136:BODY_AT] != b'","entry":' or line[-1:] != b"}":
        raise ValueError("not an exchange line")
    signature, body = bytes.fromhex(line[8:136].decode()), line[BODY_AT:-1]
    entry = json.loads(body)
    author = bytes.fromhex(entry["author"])
    signed = b"boxproof entry 1\0" + bytes.fromhex(entry["prev"]) + author + body
    Ed25519PublicKey.from_public_bytes(author).verify(signature, signed)
    return hashlib.sha256(signed + signature).hexdigest()


def main(file):
    with open(file, "rb") as lines:
        for number, line in enumerate(lines, 1):
            try:
                print(identity(line))
            except (InvalidSignature, ValueError, KeyError) as error:
                print(f"line {number} does not fit: {error!r}")
                return 1
    return 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
