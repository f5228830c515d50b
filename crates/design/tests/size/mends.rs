//! Where nothing works: each change of level that is said to mend it does, and half a
//! millimetre less does not.

