// Threads for a module that has none: what libde265 uses of <mutex>,
// <condition_variable> and <thread>, which LLVM's library for WASI leaves out.
// No thread is ever started: the decoder is told to use none.
#pragma once

#include_next <mutex>

namespace std {
class mutex {
public:
  void lock() {}
  bool try_lock() { return true; }
  void unlock() {}
};

template <class M> class unique_lock {
public:
  explicit unique_lock(M&) {}
  void lock() {}
  void unlock() {}
};

class thread {
public:
  thread() = default;
  template <class F, class... A> explicit thread(F&&, A&&...) { __builtin_trap(); }
  bool joinable() const { return false; }
  void join() {}
};

class condition_variable {
public:
  void notify_one() {}
  void notify_all() {}
  // To wait for another thread where there is none would be for ever: stop.
  template <class L> void wait(L&) { __builtin_trap(); }
  template <class L, class P> void wait(L&, P done) { if (!done()) __builtin_trap(); }
};
} // namespace std
