// Package folder is what a run leaves on disk: the one table of the files of
// a kit ([Outputs]), and how a folder or a file appears whole or not at all,
// and never at the cost of what is there already ([Begin], [BeginFile]).
//
// A run builds beside the place it is for, in a folder with a name of its own,
// and takes the place in a few renames at the end. A journal beside the place
// holds a lock, so that no two runs are about one place, and says what the run
// is doing, so that the next one can tidy up after a run that was killed. The
// journal is removed last: a change counts when it is gone.
package folder
