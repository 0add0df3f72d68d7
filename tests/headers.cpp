// SPDX-License-Identifier: Apache-2.0
// Nothing of its own: the tests' precompiled header needs a source to belong to.
