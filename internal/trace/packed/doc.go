// Package packed is the stored form of a trace: runs of float64 as compressed blobs, their exact
// statistics, and outlines of them for plots.
//
// # The model
//
// A series is stored as chunks of ChunkSize samples. Each chunk is a blob that decodes to the very
// bits that were given, and beside it stand its trace.Moments, so that the statistics of any window
// are exact and need only the chunks at its edges decoded.
//
// An Outline is a run of buckets, each with the least, the greatest and the mean of a fixed number of
// samples: 256 at level 0, sixteen times as many at each further level. A plot of any width reads the
// level that has about as many buckets as the plot has pixels. Bucket b of level l covers samples
// b·256·16^l and on; times have outlines as values do, which say where a bucket stands.
//
// # The codings
//
// What meters write are decimals, and a decimal of up to 15 digits is the float64 nearest to a whole
// number divided by a power of ten. Where that holds for a chunk its whole numbers are stored, each
// block of 128 in as few bits as its range or the range of its differences needs (the idea of
// decimals: Afroozeh, Kuffo and Boncz 2023, "ALP", from memory). Values that break the rule, such as
// NaN, are listed beside them. Any other chunk is stored as differences in bits (xor) of neighbours,
// by byte planes, with Zstandard. A CRC-32C ends each blob.
package packed
