// Package oplog defines the log that every device writes for itself.
//
// A log is a sequence of operations numbered 1, 2, 3… without gaps. An operation
// is a CBOR array (RFC 8949): kind, stamp, and what that kind needs. Its number is
// its place in the log and is not stored. Long ids are named once, by a define
// operation, and stand as small integers from then on; a log is therefore read
// from its beginning, or from a Tail that remembers the names so far.
//
// Operations are chained: the hash after operation n is the SHA-256 of the hash
// after n-1 and the bytes of operation n. Operations travel and rest in batches:
// a run of them, the hash before the run, and the device's Ed25519 signature over
// the hash after it. Because the chain goes operation by operation, one signature
// covers everything before it, and batches may be merged later without loss.
//
// The bytes are described field by field in FORMAT.md beside this file.
package oplog
