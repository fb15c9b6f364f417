// Package simtest lives through the troubles of a household's phones and servers, in
// one process and from one seed. It holds no code but tests.
//
// A world has phones (client-sdk/replica) and one or two servers (server/household).
// They are the real ones; only disks, networks and wall clocks are simulated, and
// HTTP and its sign-in are left out. A seed draws a list of moves: who writes what and
// works on which task, who syncs with whom, which requests and answers are lost, come
// late, come twice, are cut short or altered on the way, who is cut off for a month, who
// hands whom a file, when wall clocks are set wrong by up to two days, who joins in which role, whose
// rights a keeper changes or ends, when an app is killed, when power fails at one of the next writes, when a disk fails
// half-way, when a phone is wiped and joins anew, when a server is restored to any
// earlier state, when a phone is copied, once or several times, or its own disk is set
// back, and it goes on writing under numbers that it has used, when two take one
// invitation, over different servers if there are two, and when somebody hands over what
// they may not write. What a device wrote to its disk and did not sync may then be gone,
// or there in part.
//
// Copies and disks that are set back come in households with one server, which says
// which of two histories of a log is the log; of two servers each would keep the one that
// it sees first.
//
// At the end the troubles stop, and every phone talks to every server a few times. Who is
// kept out although nobody ended the rights, because the invitation has run out or is
// used or its log was lost, hands a file to a member or comes back by a new invitation.
// Then these must hold:
//
//  1. all replicas have the same digest, as they stand, opened anew from their disks,
//     and restored from a snapshot;
//  2. every operation that a person was told is saved is there, once, under the id
//     that was given and with what was written, if the disk of any device has it. What
//     was only on a disk that is wiped or set back is gone. Where a log has had two
//     histories what is in the one that was given up has other numbers, settings may be
//     left out of it that a later one has replaced, and what nobody may write any more
//     stays on the phone that has it;
//  3. nothing is there that nobody wrote, no fact counts more often than somebody wrote
//     it, what was taken back stands on no phone, nor what repeats it, and each batch
//     carries its phone's signature;
//  4. what its author's role allowed counts and nothing else does, also where the role
//     was changed or ended while the author was out of reach;
//  5. of each register the greatest stamp, then device, then number counts, and who
//     had seen a setting and replaced it has the later stamp, whatever the clocks
//     showed;
//  6. all phones show the same tasks, these follow from the facts that stand, and no
//     task ever changes its id;
//  7. what a phone believes to be shared is on that server's disk after every loss of
//     power; and when a server is restored, all phones find out once one has that was
//     told more;
//  8. among the healed a sync takes at most three round trips, and in the end one, but
//     for the few in which a phone takes another key or other histories of logs.
//
// The same seed gives the same run. A seed that fails is shrunk to the fewest of its
// moves that fail too, and these are told in words. MUTATIONS.md lists the faults that
// were planted in the code under test, and how many seeds it took to find each.
package simtest
