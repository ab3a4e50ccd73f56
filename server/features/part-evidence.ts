/** What runs and known points show of parts' voltages, kept as long as nothing of it changes. */
import { evidenceOf, evidenceOfGroups, type PartEvidence } from '../bench/evidence/evidence.ts'
import { countingTrials } from '../bench/evidence/ledger.ts'
import { type Posterior, posteriorInSlices } from '../bench/evidence/posterior.ts'
import { knownTrials, type NoTrial, type Trial, trialsOf } from '../bench/evidence/trials.ts'
import type { ComparedRun } from '../bench/run/compared.ts'
import { finished, type Part, partOfGroup, resumable } from '../model/index.ts'
import { partConstants } from '../semantic/constants.ts'
import type { Definition } from '../semantic/definitions.ts'
import { type Proof, proofOf } from '../semantic/proof.ts'

export interface EvidenceStore {
  /** Undefined where nothing was tried. The same object as long as nothing of it changed. */
  of(part: Definition, runs: readonly ComparedRun[]): PartEvidence | undefined
  /** The same, with all that costs time made in slices. */
  inSlices(part: Definition, runs: readonly ComparedRun[]): Generator<undefined, PartEvidence | undefined>
  /** Whether it was found before and takes no time any more. */
  isFound(part: Definition, runs: readonly ComparedRun[]): boolean
}

interface Known {
  readonly runs: readonly ComparedRun[]
  /** What the runs and known points come to as trials; runs that are no trial among them. */
  readonly trials: readonly (Trial | NoTrial)[]
  readonly evidence: PartEvidence | undefined
  readonly posterior: () => Generator<undefined, Posterior>
  isFound: boolean
}

type Shown = Pick<Known, 'trials' | 'evidence' | 'posterior'>

/** Whether two lists of trials stand at the same places and say the same. */
function saySame(some: readonly (Trial | NoTrial)[], others: readonly (Trial | NoTrial)[]): boolean {
  const content = (one: Trial | NoTrial | undefined): string => JSON.stringify({ ...one, definition: undefined })
  return (
    some.length === others.length &&
    some.every((one, at) => one.definition === others[at]?.definition && content(one) === content(others[at]))
  )
}

/** So many posteriors are kept by what they rest on; typing in a part or a run makes new objects of the same content. */
const KEPT = 8

export function createEvidenceStore(): EvidenceStore {
  /** By needs, trials and proof, those being made among them; beyond `KEPT` the oldest is evicted. */
  const posteriors = new Map<string, () => Generator<undefined, Posterior>>()
  function* posteriorOf(part: Part, trials: readonly Trial[], proof: Proof): Generator<undefined, Posterior> {
    const counting = countingTrials(part.needs, trials, part.ratioStep).map(({ ratio, comparableV, end }) => {
      return { ratio, comparableV, end }
    })
    const content = JSON.stringify([part.needs, counting, proof])
    const kept = posteriors.get(content)
    if (kept !== undefined) return yield* kept()
    const made = resumable(posteriorInSlices(part.needs, counting, proof))
    posteriors.set(content, made)
    for (const oldest of posteriors.keys()) {
      if (posteriors.size <= KEPT) break
      posteriors.delete(oldest)
    }
    return yield* made()
  }
  /** Evicted with the part's chunk; replaced when a run of it is another. */
  const known = new WeakMap<Definition, Known>()
  const knownBefore = (definition: Definition, runs: readonly ComparedRun[]): Known | undefined => {
    const before = known.get(definition)
    const isSame = before?.runs.length === runs.length && before.runs.every((run, index) => run === runs[index])
    return isSame ? before : undefined
  }
  const knownOf = (definition: Definition, runs: readonly ComparedRun[]): Known => {
    const before = knownBefore(definition, runs)
    if (before !== undefined) return before
    const { value: part } = partConstants(definition)
    const found = part === undefined ? nothing : shown(definition, part, runs)
    // Runs that were compared again may well say the same: then what rests on the evidence stays.
    const earlier = known.get(definition)
    const isSame = earlier !== undefined && saySame(earlier.trials, found.trials)
    const made = isSame ? { ...earlier, runs } : { ...found, runs, isFound: false }
    known.set(definition, made)
    return made
  }
  const nothing: Shown = {
    trials: [],
    evidence: undefined,
    posterior: () => {
      throw new Error('nothing was tried')
    },
  }
  const shown = (definition: Definition, part: Part, runs: readonly ComparedRun[]): Shown => {
    const trials = [...knownTrials(definition, part)]
    const leftOut: NoTrial[] = []
    for (const run of runs) {
      for (const found of trialsOf(run, part)) {
        if ('why' in found) leftOut.push(found)
        else trials.push(found)
      }
    }
    const all = [...trials, ...leftOut]
    const proof = proofOf(definition)
    if (part.groups !== undefined) return ofGroups(part, all, proof)
    if (trials.length === 0 || part.needs.length === 0) return { ...nothing, trials: all }
    const posterior = () => posteriorOf(part, trials, proof)
    const evidence = evidenceOf(part, trials, leftOut, proof, () => finished(posterior()))
    return { trials: all, evidence, posterior }
  }
  /** Each group by its own trials. */
  const ofGroups = (part: Part, all: Known['trials'], proof: Proof): Shown => {
    const leftOut = all.filter(one => 'why' in one)
    const made: (() => Generator<undefined, Posterior>)[] = []
    const groups = new Map<string, PartEvidence>()
    part.groups?.forEach(({ name }, index) => {
      const trials = all.flatMap(one => ('why' in one || one.group !== name ? [] : [one]))
      const own = partOfGroup(part, index)
      if (trials.length === 0 || own.needs.length === 0) return
      const posterior = () => posteriorOf(own, trials, proof)
      made.push(posterior)
      groups.set(
        name,
        evidenceOf(own, trials, groups.size === 0 ? leftOut : [], proof, () => finished(posterior())),
      )
    })
    const evidence = evidenceOfGroups(groups, leftOut)
    const [first, ...others] = made
    if (evidence === undefined || first === undefined) return { ...nothing, trials: all }
    const posterior = function* (): Generator<undefined, Posterior> {
      const found = yield* first()
      for (const other of others) yield* other()
      return found
    }
    return { trials: all, evidence, posterior }
  }
  return {
    of: (part, runs) => knownOf(part, runs).evidence,
    inSlices: function* (part, runs) {
      for (const run of runs) yield* run.settleInSlices()
      const found = knownOf(part, runs)
      if (found.evidence !== undefined) yield* found.posterior()
      found.isFound = true
      return found.evidence
    },
    isFound: (part, runs) => knownBefore(part, runs)?.isFound === true,
  }
}
