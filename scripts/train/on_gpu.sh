#!/usr/bin/env bash
# The training's stages on the machine with the GPU. Everything runs in the background, so that a call only starts it or
# watches it, and lives in /tmp/train there. What comes back is put into $OUT.
#
#   on_gpu.sh begin PART1 [SECONDS]   unpacks part 1; starts espeak-ng, flite, hibari and the training, which ends SECONDS on
#   on_gpu.sh kokoro PART2            unpacks part 2; starts Kokoro on the GPU, for the development set first
#   on_gpu.sh watch SECONDS           waits, tells how it goes, and copies the newest weights
#   on_gpu.sh choose SECONDS          waits for the training's end at most so long, then chooses the weights
#   on_gpu.sh logs                    what every program there has said last
set -euo pipefail

root=${TRAIN_ROOT:-/tmp/train}
work=$root/work clips=$root/clips points=$root/points logs=$root/logs
python=${TRAIN_PYTHON:-python3}
export PYTHONPATH=$work PYTHONUNBUFFERED=1 OMP_NUM_THREADS=1 ORT_DISABLE_TELEMETRY=1
cd -- "$root" 2>/dev/null || { mkdir -p "$root"; here=$PWD; }
here=${here:-$OLDPWD}

# A program in the background that outlives this call; NAME's output is in its log.
background() {
  local name=$1
  shift
  setsid nohup "$@" >"$logs/$name.log" 2>&1 </dev/null &
}

# One family of voices, WORKERS of it: speak FAMILY WORKERS SECONDS CLIPS_EACH
speak() {
  local worker
  for ((worker = 0; worker < $2; worker++)); do
    background "$1_$worker" nice -n 5 "$python" -m scripts.train.speak "$1" "$work" "$clips" \
      --worker "$worker" --of "$2" --seconds "$3" --clips "$4" --seed "${TRAIN_SEED:-1}"
  done
}

told() {
  tail -q -n "${1:-3}" "$logs/learn.log" || true
  for family in kokoro hibari espeak flite; do
    printf '%s %s files; ' "$family" "$(find "$clips" -maxdepth 1 -name "$family*.npz" | wc -l)"
  done
  echo
  { nvidia-smi --query-gpu=utilization.gpu,memory.used --format=csv,noheader; uptime; } 2>/dev/null || true
}

newest() {
  local last
  last=$(find "$points" -maxdepth 1 -name 'point_*' | sort | tail -n 1)
  if [[ -n $last ]]; then
    for part in "$last"/w?.npz; do cp -- "$part" "$OUT/newest_$(basename -- "$part")"; done
    cp -- "$points/points.jsonl" "$OUT/points.jsonl"
  fi
  cp -- "$logs/learn.log" "$OUT/learn.log" || true
  tail -q -n 2 "$logs"/*_*.log >"$OUT/speak.log" 2>/dev/null || true
}

wait_for_end() {
  local until=$((SECONDS + $1))
  while ((SECONDS < until)) && [[ ! -f $points/finished ]]; do
    sleep 5
    if (((SECONDS / 5) % 12 == 0)); then told 1; fi
  done
}

stage=$1
case $stage in
begin)
  part=$(cd -- "$here" && cd -- "$2" && pwd -P)
  mkdir -p "$work" "$clips/development" "$points" "$logs"
  cp -r -- "$part"/. "$work"
  tar -xJf "$work/tools.tar.xz" -C "$work"
  "$python" -c 'import torch, scipy, onnxruntime; print(torch.__version__, torch.cuda.is_available())'
  nvidia-smi --query-gpu=name,memory.total --format=csv,noheader 2>/dev/null || true
  if [[ ! -f $root/ends_at ]]; then echo $(($(date +%s) + ${3:-1350})) >"$root/ends_at"; fi
  background espeak_development "$python" -m scripts.train.speak espeak "$work" "$clips" --development
  speak hibari "${TRAIN_HIBARI:-4}" 700 10000
  speak espeak "${TRAIN_ESPEAK:-2}" 1000 25000
  speak flite 1 600 12000
  # A run that breaks off begins again at its last point.
  OMP_NUM_THREADS=4 background learn bash -c \
    'for try in 1 2 3 4 5; do "$@" && break; echo "broke off ($try)"; sleep 3; done' learn \
    "$python" -m scripts.train.learn "$work" "$clips" "$points" --ends-at "$(cat "$root/ends_at")" ${TRAIN_OPTIONS:-}
  sleep 3
  told 5
  ;;
kokoro)
  part=$(cd -- "$here" && cd -- "$2" && pwd -P)
  cp -r -- "$part"/. "$work"
  background kokoro_development "$python" -m scripts.train.speak kokoro "$work" "$clips" --development
  background kokoro_0 "$python" -m scripts.train.speak kokoro "$work" "$clips" --seconds "${TRAIN_KOKORO:-900}" \
    --seed "${TRAIN_SEED:-1}"
  ;;
watch)
  wait_for_end "$2"
  told 12
  newest
  ;;
choose)
  wait_for_end "$2"
  told 3
  newest
  "$python" -m scripts.train.choose "$work" "$clips" "$points" "$root/chosen" | tee "$root/choose.log"
  cp -- "$root"/chosen/* "$OUT"
  rm -f -- "$OUT"/newest_* "$OUT/speak.log"
  ;;
logs)
  tail -n 15 "$logs"/*.log
  told 20
  ;;
*)
  echo "on_gpu.sh: there is no stage '$stage'; use begin, kokoro, watch, choose or logs" >&2
  exit 2
  ;;
esac
