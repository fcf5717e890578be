#!/usr/bin/env bash
# Runs a command on a Slurm cluster of this one machine, made for it alone and
# stopped after it: for trying array jobs where there is no cluster. Needs
# Debian's slurm-wlm and munge, and root. Usage:
#
#   one-node-slurm.sh COMMAND [ARGUMENTS]
#
# The command finds SLURM_CONF set, so that sbatch, squeue and scontrol speak to
# this cluster. It has two slots, whatever the machine has.
set -euo pipefail
[ "$(id -u)" = 0 ] || { echo "one-node-slurm.sh: only root can start a cluster" >&2; exit 2; }
for p in munged slurmctld slurmd sbatch; do
  command -v "$p" >/dev/null || { echo "one-node-slurm.sh: $p is not installed (Debian: slurm-wlm, munge)" >&2; exit 2; }
done

at=$(mktemp -d -t one-node-slurm.XXXXXX)
chmod 755 "$at"
host=$(hostname -s)
base=$((20000 + 2 * ($$ % 6000))) # ports of its own, none that the system gives to others
export SLURM_CONF=$at/slurm.conf
pids=()
stop() {
  local code=$?
  for p in "${pids[@]}"; do kill "$p" 2>/dev/null || true; done
  for p in "${pids[@]}"; do
    for _ in $(seq 50); do kill -0 "$p" 2>/dev/null || break; sleep .1; done
    kill -9 "$p" 2>/dev/null || true
  done
  [ "$code" = 0 ] || tail -n 20 "$at"/*.log >&2 || true
  rm -rf "$at"
  exit "$code"
}
trap stop EXIT
trap 'exit 130' INT TERM

mkdir -m 700 "$at/munge"
head -c 1024 /dev/urandom >"$at/munge/key"
chmod 600 "$at/munge/key"
munged --foreground --force --key-file="$at/munge/key" --socket="$at/munge/socket" --pid-file="$at/munge/pid" \
  --seed-file="$at/munge/seed" --log-file="$at/munge/log" >"$at/munged.log" 2>&1 &
pids+=($!)

mkdir "$at/state" "$at/spool"
cat >"$SLURM_CONF" <<CONF
ClusterName=one
SlurmctldHost=$host(127.0.0.1)
SlurmUser=root
SlurmdUser=root
SlurmctldPort=$base
SlurmdPort=$((base + 1))
AuthType=auth/munge
AuthInfo=socket=$at/munge/socket
CryptoType=crypto/munge
StateSaveLocation=$at/state
SlurmdSpoolDir=$at/spool
SlurmctldPidFile=$at/slurmctld.pid
SlurmdPidFile=$at/slurmd.pid
ProctrackType=proctrack/linuxproc
TaskPlugin=task/none
JobAcctGatherType=jobacct_gather/none
SelectType=select/cons_tres
SelectTypeParameters=CR_CPU
MpiDefault=none
ReturnToService=2
MinJobAge=7200
KillWait=2
MessageTimeout=100
TCPTimeout=60
BatchStartTimeout=300
UnkillableStepTimeout=600
SchedulerParameters=sched_interval=1,bf_interval=1
JobRequeue=1
NodeName=$host NodeAddr=127.0.0.1 CPUs=2 State=UNKNOWN
PartitionName=all Nodes=$host Default=YES MaxTime=INFINITE State=UP
CONF

for _ in $(seq 1200); do [ -S "$at/munge/socket" ] && break; sleep .1; done
slurmctld -D -i >"$at/slurmctld.log" 2>&1 &
pids+=($!)
slurmd -D >"$at/slurmd.log" 2>&1 &
pids+=($!)
for _ in $(seq 1200); do
  [ "$(sinfo -h -o %T 2>/dev/null)" = idle ] && break
  sleep .1
done
[ "$(sinfo -h -o %T)" = idle ] || { echo "one-node-slurm.sh: the cluster did not come up" >&2; exit 1; }
"$@"
